"""Every threshold: its value, its unit, and which measurement it comes from."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import Final


@dataclass(frozen=True, slots=True, kw_only=True)
class Pauses:
    """How long a silence ends what the person says, by what could still follow.

    Each is a number of the detector's chunks of 32 ms; about 0.06 s more pass before the
    detector calls the end of speech silence. Training voices, 286 answers clean and in noise,
    0.5 s always and then these: 264 and 267 right (3 gained, none lost), none cut in two;
    end of speech to decision, clean, median 571 and 255 ms for responses and commands, 565
    and 252 ms for readings. Synthetic voices make no pauses within a phrase; people pause
    0.2 to 0.4 s between words.

    Attributes:
        complete_s: Nothing that could follow would say anything else.
        extendable_s: It is an answer that can become another ("fifty", "fifty five").
        incomplete_s: It is no answer yet, or it is a correction.
    """

    complete_s: float = 0.192
    extendable_s: float = 0.448
    incomplete_s: float = 0.896


#: By name, for who speaks how.
PAUSES: Final[Mapping[str, Pauses]] = MappingProxyType(
    {
        "usual": Pauses(),
        "long": Pauses(complete_s=0.384, extendable_s=0.896, incomplete_s=1.792),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class EndpointingSettings:
    """When speech starts and ends.

    Attributes:
        start_probability: Speech begins when the detector's probability exceeds this.
        end_probability: ... and is over once it stays below this.
        end_silence_s: ... for this long, where it is not known what could follow. 0.50 s
            ends no phrase early in stationary noise at 5 dB and above.
        pauses: ... and for how long where it is known; None: always ``end_silence_s``, as
            in journals of runs from before there were pauses.
        pre_roll_s: Sound kept from before the start, so that no consonant is lost.
        longest_s: An utterance is ended after this long, whatever is heard.
        shortest_s: Speech shorter than this is a click or a cough and starts nothing;
            "on" and "off" as single words last 0.2 s and more.
    """

    start_probability: float = 0.5
    end_probability: float = 0.35
    end_silence_s: float = 0.5
    pauses: Pauses | None = None
    pre_roll_s: float = 0.3
    longest_s: float = 15.0
    shortest_s: float = 0.06


@dataclass(frozen=True, slots=True, kw_only=True)
class PolicySettings:
    """What to do at which confidence, 0 to 1.

    Set on PocketSphinx's training voices (recognition/confidence.json): 436 right answers,
    62 misheard ones, 197 utterances of other talk taken for a phrase, in quiet and in noise
    down to 10 dB. At or above 0.8 were 86 % of the right ones and no other talk, at or above
    0.9 5 of the 62 misheard ones; at or above 0.3, 98 % of the right ones and 10 % of other
    talk; below 0.1, 2 of the right ones and 79 % of other talk.

    Attributes:
        accept: At or above: take it.
        accept_reading: ... if it is a reading: most of what is misheard is a number.
        confirm: At or above: ask "confirm ...?".
        ask_again: At or above: say that it was not understood. Below: ignore.
    """

    accept: float = 0.75
    accept_reading: float = 0.9
    confirm: float = 0.3
    ask_again: float = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class RejectionSettings:
    """How PocketSphinx's scores become a confidence (recognition/rejection.py).

    Weights fitted on voices slt, rms and espeak en-gb (60 right answers, 39 sentences of
    other talk taken for a phrase), the offset then raised by 1, because people fit worse
    than synthetic voices. Checked on awb, kal16 and espeak en-us (87 and 40), clean
    synthetic speech: 94 % of right answers at or above 0.6 (all 64 of flite's), 1 % below
    0.4; of other talk 80 % below 0.4 and 8 % at or above 0.6. People's voices have not
    been measured.

    Attributes:
        offset: Constant of the logistic function.
        mean_loss: Weight of the mean loss a frame, in thousandths.
        worst_loss: Weight of the loss of the worst word, in thousandths.
    """

    offset: float = 9.8
    mean_loss: float = -0.717
    worst_loss: float = -0.472


@dataclass(frozen=True, slots=True, kw_only=True)
class PatienceSettings:
    """How long silence lasts before the tool speaks up, seconds.

    Attributes:
        first_s: After a challenge without an answer: repeat it once.
        second_s: After that: say once more where we are; then stay quiet, because
            a person walking round an aircraft is not to be nagged.
        hearback_s: After the readback of the last reading: how long it may be rejected
            before the check ends. People answer each other after about 0.2 s, and need
            0.6 s and more to find a word (published figures on conversation).
        away_s: A pause or a silence that lasts so long is followed by the offer to go back
            two items. None: no offer, as in journals of runs from before there was one.
            Chosen, not measured.
        gap_s: Nobody has spoken for so long: then a wait that is due is told. A reply comes
            after about 0.2 s, and within 0.6 s where the words have to be found (published
            figures on conversation), so that what is told does not fall into it. 0, as in
            journals of runs from before there was a gap: at once.
    """

    first_s: float = 30.0
    second_s: float = 90.0
    hearback_s: float = 3.0
    away_s: float | None = None
    gap_s: float = 0.0


class Wording(StrEnum):
    """How much the tool says."""

    FULL = "full"
    NORMAL = "normal"
    TERSE = "terse"


@dataclass(frozen=True, slots=True, kw_only=True)
class VoiceSettings:
    """How the tool speaks.

    Attributes:
        rate_wpm: Words a minute. The speech literature in the project's published
            tables puts ordinary speech at 120 to 180.
        slower_wpm: After "speak slower".
        tail_s: Seconds. Words count as heard if no more of them was left when the person
            began to speak: a reply often begins on the last word. Chosen as about one
            word at the usual rate (60 s / 170 = 0.35 s); not measured on people.
        name: The voice, as the machine names it; None: that of the language pack.
        volume: 0 to 1, of what the voice gives.
        wording: How much is said.
        earcons: Short sounds before words that hold, go on, ask again or tell of a finding.
    """

    rate_wpm: int = 170
    slower_wpm: int = 120
    tail_s: float = 0.4
    name: str | None = None
    volume: float = 1.0
    wording: Wording = Wording.NORMAL
    earcons: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """All of them."""

    endpointing: EndpointingSettings = EndpointingSettings(pauses=Pauses())
    policy: PolicySettings = PolicySettings()
    patience: PatienceSettings = PatienceSettings(away_s=120.0, gap_s=0.7)
    voice: VoiceSettings = VoiceSettings()
