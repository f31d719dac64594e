"""What turns the machine, in exact fractions: motor speed to unit length and back, and how the speed is proven."""
