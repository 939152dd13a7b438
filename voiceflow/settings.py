"""Every threshold: its value, its unit, and which measurement it comes from."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class EndpointingSettings:
    """When speech starts and ends.

    Attributes:
        start_probability: Speech begins when the detector's probability exceeds this.
        end_probability: ... and is over once it stays below this.
        end_silence_s: ... for this long. 0.50 s ends no phrase early in stationary
            noise at 5 dB and above; shorter belongs to grammar-aware endings.
        pre_roll_s: Sound kept from before the start, so that no consonant is lost.
        longest_s: An utterance is ended after this long, whatever is heard.
        shortest_s: Speech shorter than this is a click or a cough and starts nothing;
            "on" and "off" as single words last 0.2 s and more.
    """

    start_probability: float = 0.5
    end_probability: float = 0.35
    end_silence_s: float = 0.5
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
    """

    first_s: float = 30.0
    second_s: float = 90.0
    hearback_s: float = 3.0


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
    """

    rate_wpm: int = 170
    slower_wpm: int = 120
    tail_s: float = 0.4


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelSettings:
    """What the level meter finds fault with; no run decides by it.

    Attributes:
        speech_probability: Sound is speech if the detector's probability exceeds this.
        quiet_db: Speech below this level is too quiet, dB below full scale. Of 60 clean
            synthetic recordings made quieter, in noise of half a step of 16 bits, speech
            was found in 56 at -20 and at -50 dB, in 55 at -60, 45 at -66, 20 at -72; at
            -55 its edges began to be missed (94 s of speech found instead of 97).
        no_signal_db: A peak at or below this is no sound at all: three steps of 16 bits.
        clipped_samples: So many samples at full scale, and it is too loud: one may be chance.
    """

    speech_probability: float = 0.5
    quiet_db: float = -50.0
    no_signal_db: float = -80.0
    clipped_samples: int = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """All of them."""

    endpointing: EndpointingSettings = EndpointingSettings()
    policy: PolicySettings = PolicySettings()
    patience: PatienceSettings = PatienceSettings()
    voice: VoiceSettings = VoiceSettings()
