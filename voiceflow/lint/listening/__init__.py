"""A simulated listening test: what a check's own phrases are heard as.

Synthesised speech through the very path of a run. It shows which phrases of a check are
too alike for the engine; it does not show how well any person is heard.
"""
