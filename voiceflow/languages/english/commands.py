"""The standing commands in English, and the words that are no answer.

How the phrases were chosen:

* First the standard word of radiotelephony, which is the one we teach, then what
  people say instead.
* No short word alone. A recogniser that works with a grammar forces any sound into
  it, and one syllable fits nearly every sound: "yes" and "no" are therefore not
  here ("no" is also one consonant away from "oh", "yes" from "set"). Who says "yes"
  is asked for affirm or negative, which is how it is done on the radio too.
* "correct" alone is not here although it is a standard word: it is the beginning of
  "correction", which means the opposite. "That is correct" is safe.
* "standby" as one word is not here: it is what a transponder is set to. "Stand by"
  sounds the same; ``lint`` finds an item that expects it, and there "hold the check"
  and "wait one" remain.
* No phrase holds a response of a switch ("slow down" would hold "down").
* "affirm" sounds a little like "armed". It stays, for it is the standard word, and
  outside a question it changes nothing.
"""

from collections.abc import Mapping
from types import MappingProxyType

from voiceflow.phraseology.commands import CommandName

COMMANDS: Mapping[CommandName, tuple[str, ...]] = MappingProxyType(
    {
        CommandName.SAY_AGAIN: ("say again", "say again please", "say it again", "repeat please"),
        CommandName.STAND_BY: ("stand by", "stand by one", "hold the check", "wait one"),
        CommandName.CONTINUE: ("continue", "continue check", "continue the check", "carry on"),
        CommandName.CORRECTION: ("correction",),
        CommandName.DISREGARD: ("disregard", "disregard that", "ignore that"),
        CommandName.AFFIRM: ("affirm", "affirmative", "that is correct"),
        CommandName.NEGATIVE: ("negative", "that is not correct", "that is wrong"),
        CommandName.READ_BACK: ("read back", "read back please", "read that back"),
        CommandName.UNABLE: ("unable", "i am unable", "unable to comply"),
        CommandName.SPEAK_SLOWER: ("speak slower", "speak slower please", "speak more slowly"),
        CommandName.ROGER: ("roger", "roger that"),
        CommandName.WILCO: ("wilco", "will comply"),
        CommandName.LEAVE_FOR_LATER: (
            "leave it for later",
            "leave for later",
            "leave this for later",
            "leave this item for later",
            "come back to it later",
        ),
        CommandName.GO_BACK: ("go back one", "go back one item", "previous item"),
        CommandName.GO_BACK_TWO: ("go back two", "go back two items"),
        CommandName.WHERE_ARE_WE: ("where are we", "where were we"),
        CommandName.WHAT_IS_LEFT: ("what is left", "what's left", "what is still open"),
        CommandName.WHAT_WAS_FOUND: ("list the findings", "what did we find"),
        CommandName.HOW_LONG: ("how long", "how long has it been", "how much time"),
        CommandName.WHAT_CAN_I_SAY: ("what can i say", "what are my choices"),
        CommandName.NOTE: ("take a note", "make a note"),
        CommandName.ABANDON: ("abandon check", "abandon the check"),
    }
)

#: Sounds and words before an answer that mean nothing.
HESITATIONS: tuple[str, ...] = ("uh", "um", "er")

#: Sound like an answer and state no setting.
EMPTY_RESPONSES: tuple[str, ...] = (
    "set",
    "checked",
    "check",
    "as required",
    "all set",
    "all checked",
    "okay",
)
