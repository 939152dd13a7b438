"""Spoken numbers over the scale of a gauge, both ways, whatever the language.

Here: the marks of a gauge, how a value is written on it, its digits and places,
and the way from words back to values. Not here: a word of any language; the words
are in ``voiceflow/languages/``.
"""
