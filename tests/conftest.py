"""What all tests share."""

import os

from hypothesis import settings

# The build may run beside other work: an example that is slow today says nothing about the program. In the build
# the examples are the same every time, so that a change is judged by itself; at a desk they are new ones each time.
settings.register_profile("no clock", deadline=None, derandomize="CI" in os.environ)
settings.load_profile("no clock")
