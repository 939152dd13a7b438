"""Texts that answer nothing: what else is said in and near a cockpit.

All are put together here from parts of our own, or taken from the shipped checks and
from what the program itself says. The stations, flights and people are invented.
No sound is made here.
"""

import random
from collections.abc import Iterator

SUBJECTS = (
    "the fueller", "the loader", "the other crew", "my brother", "the engineer", "the office",
    "somebody", "the driver", "the new captain", "a man in a yellow jacket",
    "our dispatcher", "the boy from the cafe",
)  # fmt: skip
DEEDS = (
    "left the ladder beside the wing", "wants a signature on the papers",
    "is looking for the tow bar", "said we could go early", "forgot the blankets again",
    "asked about the weather on the islands", "has parked much too close",
    "brought two more bags for the hold", "was waiting at the wrong stand",
    "cannot find the invoice from last week", "would like a window seat",
    "thinks the heating is broken", "sold the old van in spring", "has the keys of the shed",
)  # fmt: skip
OPENINGS = (
    "do you know whether", "I heard that", "it seems that", "tell them that", "apparently",
    "yesterday", "just so you know", "by the way",
)  # fmt: skip
SENTENCES = (
    "can you move your bag a little", "what are we having for lunch", "mind your head on the door",
    "I left my glasses in the car", "there are three of them behind you", "it is getting cold in here",
    "my knee hurts when I climb in", "did you sleep well at the hotel", "the rain has nearly stopped",
    "hold on I have to take this call", "who is going to fly the first leg", "let me see",
    "oh that is annoying", "no not that one the other one", "well that took long enough",
    "give me a second", "where did I put the pen", "good morning", "thank you very much",
    "is this thing working", "come in and close the door behind you", "I am nearly ready",
    "can everybody hear me", "one moment please", "we have got plenty of time",
    "nine hundred people live on that island", "they paid fifteen for it", "about a quarter past",
    "the last one was better", "twenty of us went and fifty came back", "I counted four or five",
    "turn the page", "keep it down a bit", "look at that", "that is not what I meant",
    "what did you say", "I do not think so", "maybe later", "watch the step",
)  # fmt: skip
STATIONS = (
    "Sandray ground", "Sandray tower", "Hallin approach", "Orsay information", "Vane radio",
)  # fmt: skip
FLIGHTS = (
    "Northmark two four", "Northmark seven one six", "Gannet three five", "Kestrel one one niner",
    "X-ray Kilo Romeo", "Fulmar eight two",
)  # fmt: skip
CALLS = (
    "taxi to holding point bravo", "hold short of runway zero eight",
    "cleared for take off runway two six", "line up and wait runway one five",
    "climb to flight level niner zero", "turn left heading two one zero",
    "contact tower one one eight decimal seven", "squawk four five two one",
    "report field in sight", "descend to three thousand feet", "vacate next right",
    "surface wind two four zero degrees one two knots", "push back approved facing north",
    "expect departure at four five", "traffic is a light single two miles ahead",
    "continue approach number two", "request start up with information delta",
    "going around", "stop immediately", "radio test how do you read", "we are fully ready at the holding point",
)  # fmt: skip


def sentences(dice: random.Random) -> Iterator[str]:
    """Give small talk, long and short, each text once."""
    made = [f"{who} {does}" for who in SUBJECTS for does in DEEDS]
    made = [text if dice.random() < 0.6 else f"{dice.choice(OPENINGS)} {text}" for text in made]
    made += SENTENCES
    dice.shuffle(made)
    yield from made


def chatter(dice: random.Random) -> Iterator[str]:
    """Give calls on the radio, each once: a station and a flight, either first, or a bare call."""
    made = list(CALLS)
    for flight in FLIGHTS:
        for call in CALLS:
            first = flight if dice.random() < 0.6 else f"{dice.choice(STATIONS)} {flight}"
            made.append(f"{first} {call}" if dice.random() < 0.75 else f"{call} {flight}")
    dice.shuffle(made)
    yield from made
