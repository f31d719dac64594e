"""What all tests share."""

from hypothesis import settings

# the build may run beside other work: an example that is slow today says nothing about the program
settings.register_profile("no clock", deadline=None)
settings.load_profile("no clock")
