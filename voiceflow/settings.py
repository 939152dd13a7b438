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
    0.5 s always and then 0.192, 0.192, 0.448, 0.896 s: 264 and 267 right (3 gained, none
    lost), none cut in two. 279 answers with 0.192, 0.128 and 0.096 s where they are complete:
    278 right and none cut in two each time. Synthetic voices make no pauses within a phrase;
    people pause 0.2 to 0.4 s between words, also before a unit, whence ``settled_s``.

    Attributes:
        complete_s: Nothing that could follow would say anything else, and both front ends
            have heard it; where only one has, ``settled_s`` is waited for, because a voice of
            eSpeak's "twenty" was cut off as "affirmative".
        settled_s: ... but the unit of a reading may. None: as ``complete_s``, as in runs
            from before this was a pause of its own.
        extendable_s: It is an answer that can become another ("fifty", "fifty five").
        begun_s: It is a number that is none yet; or the engine has a word yet to find, which
            at the end it does: of 120 readings of the scoring voices one was complete and did
            not look it. Shorter than ``incomplete_s``, as that pause is waited for in full.
            None: as ``incomplete_s``, as in runs from before.
        incomplete_s: It is no answer yet, or it is a correction: who has named a gauge has
            to look at it.
    """

    complete_s: float = 0.192
    settled_s: float | None = None
    extendable_s: float = 0.448
    begun_s: float | None = None
    incomplete_s: float = 0.896


#: By name, for who speaks how.
PAUSES: Final[Mapping[str, Pauses]] = MappingProxyType(
    {
        "usual": Pauses(complete_s=0.128, settled_s=0.256, begun_s=0.608),
        "long": Pauses(
            complete_s=0.384, settled_s=0.512, extendable_s=0.896, begun_s=1.216, incomplete_s=1.792
        ),
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


class Care(StrEnum):
    """How careful the tool is with what it hears: how often it asks before it takes."""

    RELAXED = "relaxed"
    NORMAL = "normal"
    STRICT = "strict"


@dataclass(frozen=True, slots=True, kw_only=True)
class PolicySettings:
    """What to do at which confidence, 0 to 1.

    Set on PocketSphinx's training voices (recognition/confidence.json): 436 right answers,
    62 misheard ones, 197 utterances of other talk taken for a phrase, in quiet and in noise
    down to 10 dB. At or above 0.8 were 86 % of the right ones and no other talk, at or above
    0.9 5 of the 62 misheard ones; at or above 0.3, 98 % of the right ones and 10 % of other
    talk; below 0.1, 2 of the right ones and 79 % of other talk.

    Whatever these say, a critical item, a reading that is not within limits and a response
    that says something is wrong are asked about, and every reading is said back.

    The presets (``POLICIES``) were measured on the voices for training, synthetic speech
    (``python -m voiceflow.evaluation.care audio_fixtures/manifest.csv``): 125 readings, 37
    responses, 28 commands, 100 pieces of other talk, each clean and in pink noise at 15 dB.
    Taken at once, with 95 % intervals; the rest of the right ones was put as a question:

    =========================  ===================  ===================  ===================
    ..                         relaxed              normal               strict
    =========================  ===================  ===================  ===================
    right readings, clean      41 (25 to 41 %)      41 (25 to 41 %)      36 (22 to 37 %)
    right readings, noise      30 (17 to 32 %)      30 (17 to 32 %)      2 (0.4 to 5.6 %)
    wrong readings, clean      3 (0.8 to 6.8 %)     3 (0.8 to 6.8 %)     2 (0.4 to 5.6 %)
    wrong readings, noise      1 (0.1 to 4.4 %)     1 (0.1 to 4.4 %)     0 (0 to 3.0 %)
    right responses, clean     18 (33 to 64 %)      17 (31 to 62 %)      17 (31 to 62 %)
    right responses, noise     19 (36 to 67 %)      19 (36 to 67 %)      18 (33 to 65 %)
    wrong responses, either    0 (0 to 9.4 %)       0 (0 to 9.4 %)       0 (0 to 9.4 %)
    other talk, either         0 (0 to 3.7 %)       0 (0 to 3.7 %)       0 (0 to 3.7 %)
    =========================  ===================  ===================  ===================

    Most questions come from the items (critical, caution, not as expected), so few are left
    for a threshold to spare. The relaxed one does not lower the bar of readings: at 0.8
    twice as many misheard answers lie above it as at 0.9 (11 and 5 of 62). Two recognisers
    in doubt (recognition/second_opinion.py) give 0.525, which every preset asks about.

    Attributes:
        care: The preset these are.
        accept: At or above: take it.
        accept_reading: ... if it is a reading: most of what is misheard is a number.
        accept_command: ... if it is a command or a correction; below, it is asked again. The
            same in every preset: "affirm" must be neither easier to mistake nor harder to say.
        confirm: At or above: ask "confirm ...?".
        ask_again: At or above: say that it was not understood. Below: ignore.
    """

    care: Care = Care.NORMAL
    accept: float = 0.75
    accept_reading: float = 0.9
    accept_command: float = 0.75
    confirm: float = 0.3
    ask_again: float = 0.1


#: The presets, one for each setting of care.
POLICIES: Final[Mapping[Care, PolicySettings]] = MappingProxyType(
    {
        Care.RELAXED: PolicySettings(care=Care.RELAXED, accept=0.65),
        Care.NORMAL: PolicySettings(),
        Care.STRICT: PolicySettings(care=Care.STRICT, accept=0.9, accept_reading=0.98),
    }
)


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
class LevelSettings:
    """When the sound check gives advice on the level of a voice.

    Voice slt, 20 readings in a quiet room, both front ends, right (none was taken wrong):
    speech at -11 dBFS 20, at -25 dBFS 18, at -45 dBFS 19, at -56 dBFS 15, at -68 dBFS 0;
    at -6 dBFS, 6 % clipped, 18, and 35 % clipped 7; the bound on clipping is chosen well
    below, where a louder word does no harm yet. Pink noise: 39 of 40 at 20 dB and 36 at 15 dB
    (recognition/two_front_ends.py).

    Attributes:
        lowest_speech_dbfs: Below: too quiet. Decibels below full scale.
        most_clipped_percent: Above: too loud. Samples at full scale in percent of speech.
        least_snr_db: Below: noisy, or too far away. Decibels.
        noisy_dbfs: Noise at or above this is called noise; below it a low ratio comes of
            the distance. Chosen, not measured.
    """

    lowest_speech_dbfs: float = -50.0
    most_clipped_percent: float = 0.5
    least_snr_db: float = 20.0
    noisy_dbfs: float = -50.0


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
        awaits_devices: A device that is lost while the check is held or all is answered
            counts too, and a run whose device was lost goes on when it is resumed. False,
            as in journals of runs from before devices could come back.
    """

    first_s: float = 30.0
    second_s: float = 90.0
    hearback_s: float = 3.0
    away_s: float | None = None
    gap_s: float = 0.0
    awaits_devices: bool = False


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
class NoteSettings:
    """How a voice note is listened to, seconds.

    Attributes:
        silence_s: Nobody says anything for so long: there is no note. Chosen, not measured.
        typing_s: ... where it was asked for by typing: a line takes its time.
        pause_s: A silence that ends the note: as long as the long pauses wait for what is
            incomplete (``PAUSES``), because who dictates thinks in between.
        longest_s: A longer note is kept up to here.
        shortest_s: Sound shorter than this is a cough or a click, and no note.
    """

    silence_s: float = 8.0
    typing_s: float = 60.0
    pause_s: float = PAUSES["long"].incomplete_s
    longest_s: float = 60.0
    shortest_s: float = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterSettings:
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
class TrendSettings:
    """How a gauge is followed over many runs, and when a word is said of it.

    Chosen, not measured on aircraft; the reasons stand with each.

    Attributes:
        window_days: Readings older than this do not count: a leak shows within weeks, and
            seals, seasons and habits change over months.
        most: Nor do more than the newest so many: three runs a day of the window. The
            slopes of all pairs (19,900) take 2 ms.
        least: Fewer readings give no slope. Of gauges at rest, 1 in 24 only falls over four
            readings and 1 in 120 over five, by chance.
        least_days: ... over fewer days give none either: a day's weather is no trend.
        least_hours: ... or over fewer hours flown, where it is counted by these.
        refill_noise: A rise from one reading to the next of more than so many times the
            noise is a refill. Of 2,000 made-up series of nothing but normal noise, 3.9 % of
            those with 6 readings had one, 1.4 % with 10, 0.6 % with 20, 0.05 % with 50.
        refill_marks: ... if it is also more than so many marks of the gauge: two readers
            may differ by one mark either way.
        horizon_days: A limit that is reached later than this is not spoken of. None: nothing
            is, as in journals of runs from before there were trends. Two weeks are time
            enough to order a part, and near enough for a straight line.
        horizon_hours: ... where it is counted by hours flown: a long day of flying.
    """

    window_days: float = 60.0
    most: int = 200
    least: int = 5
    least_days: float = 3.0
    least_hours: float = 3.0
    refill_noise: float = 5.0
    refill_marks: float = 2.0
    horizon_days: float | None = None
    horizon_hours: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """All of them."""

    endpointing: EndpointingSettings = EndpointingSettings(pauses=PAUSES["usual"])
    policy: PolicySettings = PolicySettings()
    patience: PatienceSettings = PatienceSettings(away_s=120.0, gap_s=0.7, awaits_devices=True)
    voice: VoiceSettings = VoiceSettings()
    trend: TrendSettings = TrendSettings(horizon_days=14.0, horizon_hours=10.0)
    notes: NoteSettings = NoteSettings()


def settings_for(care: str) -> Settings:
    """Give the settings of a run that is as careful as the preset of that name."""
    return Settings(policy=POLICIES[Care(care)])
