"""The standing commands: what can be said at any item.

The first group are standard words of radiotelephony (ICAO Annex 10 vol. II
5.2.1.5.8 and Doc 9432, meanings compressed; seen in secondary copies, see
tests/published/standard_words.yaml). The second group are plain words of our own.
"""

from enum import StrEnum


class CommandName(StrEnum):
    """What a command asks for. The words that say it are in the language packs."""

    # standard words
    SAY_AGAIN = "say-again"  # repeat the prompt
    STAND_BY = "stand-by"  # hold: the check pauses at this item
    CONTINUE = "continue"  # end of the hold
    CORRECTION = "correction"  # what I said last was wrong
    DISREGARD = "disregard"  # drop what was just said; the item stays open
    AFFIRM = "affirm"  # yes
    NEGATIVE = "negative"  # no
    READ_BACK = "read-back"  # say what was recorded last
    UNABLE = "unable"  # this item cannot be done: opens a discrepancy
    SPEAK_SLOWER = "speak-slower"
    ROGER = "roger"  # received: completes nothing
    WILCO = "wilco"  # a promise: completes nothing
    # plain words of our own
    LEAVE_FOR_LATER = "leave-for-later"
    GO_BACK = "go-back"
    GO_BACK_TWO = "go-back-two"  # offered after a long interruption
    WHERE_ARE_WE = "where-are-we"
    WHAT_IS_LEFT = "what-is-left"
    WHAT_WAS_FOUND = "what-was-found"  # every discrepancy so far, carried ones too
    HOW_LONG = "how-long"  # how long has this taken, which waits run
    WHAT_CAN_I_SAY = "what-can-i-say"
    NOTE = "note"  # what is said next is kept as sound, and answers nothing
    ABANDON = "abandon"  # end the check here, after confirmation
