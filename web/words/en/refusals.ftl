### Why something was not done, and how to mend it.

pin-four-to-eight = Choose 4 to 8 digits, nothing else.
