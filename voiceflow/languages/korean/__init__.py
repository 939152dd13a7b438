"""The Korean pack: how Korean-speaking crews say and hear things.

Its words are spaced as the vocabulary of the public Korean Vosk model has them, so
that every phrase of ours can be heard: that is tested with the model itself. Written
without a source for cockpit speech in Korean: common practice, no source.
"""
