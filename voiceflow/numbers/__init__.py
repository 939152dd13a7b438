"""Numbers over the scale of a gauge, as they are spoken, whatever the language.

Here: the marks of a gauge, how a value is written on it, its digits and places.
Not here: a word of any language (``voiceflow/languages/``), and the way from words
back to values, which is the item's grammar (``voiceflow/grammar/``).
"""
