"""Does this natural piece yield the blank, and how does the blank lie in it?"""
