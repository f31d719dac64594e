"""The punched tape, from a picture to the pin, the feed or the die at fault."""
