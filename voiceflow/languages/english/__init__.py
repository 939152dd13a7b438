"""The English pack: how English-speaking crews say and hear things.

Words of radiotelephony where there are some, plain English elsewhere. Nothing in
this folder decides anything; it turns values into words and words into tokens.
"""
