"""Make the recordings of this folder and their manifest.

Run it from the checkout with the test extra installed, and flite and espeak-ng on
the machine::

    python audio_fixtures/make_fixtures.py

Everything is synthetic speech, made by programs from the texts below: seeds and
texts are fixed, so the same versions of the programs make the same sound, and the same
bytes but for Ogg files, whose pages carry a number by chance.

What a recording means is known before it is made: a value is chosen, then put into
words by the functions here (natural numbers by num2words), never by the program that
is to be measured. Its grammar is asked only whether it holds the phrase with that
very meaning; a phrase that it does not hold is named and left out.
"""

import argparse
import csv
import hashlib
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path

import numpy as np
import other_talk as other_talk_texts
import soundfile
import soxr
from num2words import num2words
from numpy.typing import NDArray
from typing_extensions import override

from voiceflow.audio.frames import RATE_HZ
from voiceflow.checks.loader import load_check
from voiceflow.checks.model import Check, Item, ReadingSpec
from voiceflow.checks.shipped import find_check
from voiceflow.evaluation.cockpit import Happening, sound
from voiceflow.evaluation.manifest import COLUMNS, MAIN, MIXED, OPTIONAL, Role
from voiceflow.evaluation.metrics import is_same
from voiceflow.grammar.item_grammar import ItemGrammar, compile_item
from voiceflow.grammar.meaning import (
    Command,
    Meaning,
    NoMatch,
    Reading,
    Response,
    ResponseState,
)
from voiceflow.languages.registry import language
from voiceflow.limits.judge import judge
from voiceflow.phraseology.commands import CommandName
from voiceflow.phraseology.language import Language
from voiceflow.phraseology.prompts import (
    Challenge,
    HoldingAt,
    LeftForLater,
    ReadBack,
    SpokenValue,
)

HERE = Path(__file__).resolve().parent
HEADER = (*COLUMNS, *OPTIONAL, "tts_text")
CHECKS = ("cockpit-preparation", "before-start")
SEED = 42

FLITE_VOICES = ("slt", "awb", "rms", "kal16")
ESPEAK_VOICES = ("en-us", "en-gb", "en-gb-scotland")
LEAD_S = 0.3
TRAIL_S = 0.8
SPEECH_RMS = 10 ** (-26 / 20)
#: A quiet room: without it a detector would see digital silence, which no microphone gives.
ROOM_RMS = 10 ** (-84 / 20)

READINGS_PER_FORM_AND_GAUGE = 3
READINGS = 240
RESPONSES = 68
NOTHING = 40
ESPEAK = 24
#: Each of these voices in each noise and at each ratio, so many recordings one after the
#: other: a recogniser gets used to a noise, and one recording alone would not show it.
NOISE_VOICES = ("slt", "rms")
NOISE_SOURCES = 8
NOISES = ("pink", "brown")
SNRS_DB = (20, 15, 10)

#: Weights and thresholds are set with these voices, and only the others score.
TRAINING_VOICES = ("flite slt", "flite rms", "espeak-ng en-gb")
#: Other talk: texts of each kind, and who says those that score and those for training.
#: No text is in both, and no voice.
OTHER_TALK = {"sentence": 160, "chatter": 110, "prompt": 110, "other item": 170}
TRAINING_TALK = {"sentence": 24, "chatter": 12, "prompt": 12, "other item": 24}
SOUNDS = 64
TRAINING_SOUNDS = 8
SCORE_TALKERS = ("flite awb", "flite kal16", "espeak-ng en-us", "espeak-ng en-gb-scotland")
#: Opus, about 15 kbit/s: the set is for rejecting, and a headset's radio is no better.
OPUS_COMPRESSION = 0.955

LICENCE_FLITE = (
    "output of CMU Flite 2.2 (its code and voices: CMU's free BSD-like licence); "
    "this recording: MIT, as the project"
)
LICENCE_ESPEAK = (
    "output of eSpeak NG 1.51 (the program: GPL-3.0-or-later, which does not cover its output); "
    "this recording: MIT, as the project"
)

#: How a synthesiser has to be spelt to, where its own reading is not what a person says:
#: flite reads "psi" as the Greek letter, and "a" apart as the article.
TTS_SPELLING = {"psi": "P S I", "rpm": "R P M"}

#: Things said in a cockpit that answer nothing.
TALK = (
    "could you hand me the torch please",
    "the fuel truck is late again this morning",
    "did you see the weather at the coast",
    "I will be back in a minute with the papers",
    "they want to know how many passengers we have",
    "this seat has been moved by somebody",
    "there is coffee in the galley if you want some",
    "my headset cable is too short",
    "the tower has changed to the other frequency",
    "what time do we expect the slot",
    "let me look that up in the book",
    "the ground crew is waving at us",
    "who flew this aircraft yesterday",
    "I think the hangar door is open",
    "she said the loading would take a while",
    "we should call the office about the schedule",
    "that noise is only the ground power cart",
    "put the bags behind the second row",
    "it was raining all night on the island",
    "my watch has stopped working",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Spoken:
    """One utterance to be made: its words, its meaning, how it is said."""

    check: str
    item: str
    text: str
    meaning: Meaning
    form: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Voice:
    """A program and its voice."""

    program: str
    name: str

    @override
    def __str__(self) -> str:
        return f"{self.program} {self.name}"

    @property
    def licence(self) -> str:
        licences = {"flite": LICENCE_FLITE, "espeak-ng": LICENCE_ESPEAK}
        return licences.get(self.program, "MIT, as the project")


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """An item, and the grammar that listens there."""

    check: Check
    item: Item
    grammar: ItemGrammar
    pack: Language


@dataclass(frozen=True, slots=True, kw_only=True)
class Recording:
    """One file to be made."""

    file: str
    spoken: Spoken
    voice: Voice
    part: str = MAIN
    noise: str = "clean"
    snr_db: int | None = None
    seed: int
    role: Role | None = None

    @property
    def may(self) -> Role:
        """What it may be used for: by its voice, if nothing else is said."""
        by_voice = Role.TRAIN if str(self.voice) in TRAINING_VOICES else Role.SCORE
        return self.role or by_voice


# --- words for numbers -------------------------------------------------------------------

DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
#: The words of ICAO Annex 10 for single digits.
RADIO = (*DIGITS[:9], "niner")


def natural(number: int, *, joined: bool) -> str:
    """A whole number as people say it, by num2words, with or without "and"."""
    words = str(num2words(number)).replace(",", "").replace("-", " ")
    return words if joined else words.replace(" and ", " ")


def one_by_one(figures: str, names: Sequence[str] = DIGITS) -> str:
    return " ".join(names[int(figure)] for figure in figures)


def pair(figures: str) -> str:
    """Two figures as a group: "50" fifty, "05" oh five, "00" is none."""
    number = int(figures)
    return f"oh {DIGITS[number]}" if number < 10 else natural(number, joined=False)


def forms(value: Decimal, places: int) -> Iterator[tuple[str, str]]:
    """Give (form, words) for a value: every way that people say it, of those that apply."""
    sign = "minus " if value < 0 else ""
    text = f"{abs(value):.{places}f}"
    whole, _, part = text.partition(".")
    number = int(whole)
    minus = " minus" if sign else ""
    if not part:
        yield f"digit by digit{minus}", sign + one_by_one(whole)
        if "9" in whole:
            yield f"digit by digit, niner{minus}", sign + one_by_one(whole, RADIO)
        if "0" in whole[1:] and len(whole) > 2:
            yield f"digit by digit, oh{minus}", sign + one_by_one(whole, ("oh", *DIGITS[1:]))
        if len(whole) > 1:
            joined = natural(number, joined=True)
            yield f"natural{minus}", sign + natural(number, joined=False)
            if " and " in joined:
                yield f"natural with and{minus}", sign + joined
        if number >= 1000 and number % 100 == 0 and number % 1000:
            yield (
                "thousands and hundreds",
                (f"{DIGITS[number // 1000]} thousand {DIGITS[number % 1000 // 100]} hundred"),
            )
            if number // 100 % 10:
                yield "hundreds", f"{natural(number // 100, joined=False)} hundred"
        if len(whole) == 4 and number % 100 >= 10 and (number // 100 % 10 or number < 1100):
            yield "group", f"{pair(whole[:2])} {pair(whole[2:])}"
        if len(whole) == 3 and number % 100 >= 10:
            yield "group", f"{DIGITS[int(whole[0])]} {pair(whole[1:])}"
        return
    if len(whole) > 1 or not minus:
        names = RADIO if "9" in text else DIGITS
        yield (
            f"digits decimal{minus}",
            sign + f"{one_by_one(whole, names)} decimal {one_by_one(part, names)}",
        )
        yield f"digits point{minus}", sign + f"{one_by_one(whole)} point {one_by_one(part)}"
    if "0" in part:
        names = ("oh", *DIGITS[1:])
        yield (
            f"digits point, oh{minus}",
            (sign + f"{one_by_one(whole, names)} point {one_by_one(part, names)}"),
        )
    if not int(part):
        yield f"whole number{minus}", sign + natural(number, joined=False)
        return
    yield f"omitted decimal{minus}", sign + one_by_one(whole + part)
    yield (
        f"natural point{minus}",
        (sign + f"{natural(number, joined=False)} point {one_by_one(part)}"),
    )
    yield (
        f"natural decimal{minus}",
        (sign + f"{natural(number, joined=False)} decimal {one_by_one(part)}"),
    )
    if len(part) == 2 and len(whole) == 2 and int(part):
        yield "group, omitted decimal", f"{pair(whole)} {pair(part)}"


# --- what is said ------------------------------------------------------------------------


def places() -> Iterator[Place]:
    """Give every item of the shipped checks with its grammar."""
    for name in CHECKS:
        check = load_check(find_check(name))
        pack = language(check.language)
        for item in check.items:
            yield Place(check=check, item=item, grammar=compile_item(item, pack), pack=pack)


def holds(place: Place, spoken: Spoken) -> bool:
    """Tell whether the item's grammar holds the phrase with its meaning; name it if not."""
    found = place.grammar.meaning(place.pack.tokenise(spoken.text))
    if is_same(spoken.meaning, found):
        return True
    print(
        f"left out: {place.item.id}: {spoken.text!r} [{spoken.form}] means {found}", file=sys.stderr
    )
    return False


def values_of(reading: ReadingSpec, dice: random.Random) -> list[Decimal]:
    """Values over the whole scale and round the limits, in a fixed random order."""
    marks = list(reading.scale.values())
    chosen = dice.sample(marks, min(len(marks), 120))
    limit = reading.limit
    for bound in (limit.minimum, limit.maximum):
        if bound is not None:
            near = sorted(marks, key=lambda mark: abs(mark - bound))[:4]
            chosen = [*near, *chosen]
    round_hundreds = [mark for mark in marks if mark >= 1000 and mark % 100 == 0]
    if round_hundreds:
        chosen += dice.sample(round_hundreds, min(6, len(round_hundreds)))
    return list(dict.fromkeys(chosen))


def readings(all_places: Sequence[Place], dice: random.Random) -> list[Spoken]:
    """Readings: every form on every gauge, then names, units and corrections."""
    by_gauge: list[list[Spoken]] = []
    for place in all_places:
        spec = place.item.reading
        if spec is None:
            continue
        by_form: dict[str, list[Spoken]] = {}
        values = values_of(spec, dice)
        units = [word for word in place.pack.unit_words.get(spec.unit, ()) if len(word.split()) < 3]
        for index, value in enumerate(values):
            for form, words in forms(value, spec.scale.places):
                kept = by_form.setdefault(form, [])
                if len(kept) < READINGS_PER_FORM_AND_GAUGE:
                    kept.append(_reading(place, value, words, form))
            plain = [words for _, words in forms(value, spec.scale.places)]
            words = plain[index % len(plain)]
            extra: list[tuple[str, str]] = []
            if spec.names:
                name = spec.names[index % len(spec.names)]
                extra.append(("name", f"{name} {words}"))
            if units:
                unit = units[index % len(units)]
                extra.append(("unit", f"{words} {unit}"))
                if spec.names:
                    extra.append(("name and unit", f"{spec.names[0]} {words} {units[0]}"))
            other = values[index - 1]
            if index and other != value:
                before = next(forms(other, spec.scale.places))[1]
                extra.append(("correction", f"{before} correction {plain[0]}"))
            for form, text in extra:
                kept = by_form.setdefault(form, [])
                if len(kept) < READINGS_PER_FORM_AND_GAUGE:
                    kept.append(_reading(place, value, text, form))
        good = [[spoken for spoken in kept if holds(place, spoken)] for kept in by_form.values()]
        by_gauge.append(_in_turn(good))
    chosen = _in_turn(by_gauge)
    return list({(one.item, one.text): one for one in chosen}.values())[:READINGS]


def _reading(place: Place, value: Decimal, text: str, form: str) -> Spoken:
    spec = place.item.reading
    unit = spec.unit if spec else ""
    return Spoken(
        check=place.check.id,
        item=place.item.id,
        text=text,
        meaning=Reading(value=value, unit=unit),
        form=form,
    )


def _in_turn(lists: Sequence[Sequence[Spoken]]) -> list[Spoken]:
    """Take the first of each, then the second of each, and so on."""
    longest = max((len(one) for one in lists), default=0)
    return [one[index] for index in range(longest) for one in lists if index < len(one)]


def responses(all_places: Sequence[Place], dice: random.Random) -> list[Spoken]:
    """Responses, as expected and not, of every item that has some."""
    as_expected: list[Spoken] = []
    otherwise: list[Spoken] = []
    for place in all_places:
        for into, phrases, state in (
            (as_expected, place.item.expect, ResponseState.AS_EXPECTED),
            (otherwise, place.item.not_as_expected, ResponseState.NOT_AS_EXPECTED),
        ):
            for phrase in phrases:
                spoken = Spoken(
                    check=place.check.id,
                    item=place.item.id,
                    text=" ".join(place.pack.tokenise(phrase)),
                    meaning=Response(phrase=phrase, state=state),
                    form=state.value.replace("_", " "),
                )
                if holds(place, spoken):
                    into.append(spoken)
    dice.shuffle(as_expected)
    dice.shuffle(otherwise)
    third = min(len(otherwise), RESPONSES // 3)
    return as_expected[: RESPONSES - third] + otherwise[:third]


#: Commands that came later: with dice of their own, so that all else stays as it was.
ADDED_COMMANDS = (CommandName.GO_BACK_TWO, CommandName.WHAT_WAS_FOUND, CommandName.NOTE)


def commands(
    all_places: Sequence[Place], dice: random.Random, names: Iterable[CommandName]
) -> list[Spoken]:
    """Every phrase of the standing commands, once, each at some item."""
    made: list[Spoken] = []
    pack = all_places[0].pack
    for name in names:
        for phrase in pack.commands[name]:
            for place in dice.sample(list(all_places), len(all_places)):
                spoken = Spoken(
                    check=place.check.id,
                    item=place.item.id,
                    text=phrase,
                    meaning=Command(name=name),
                    form=name.value,
                )
                if is_same(spoken.meaning, place.grammar.meaning(place.pack.tokenise(phrase))):
                    made.append(spoken)
                    break
            else:
                print(f"left out: no item holds {phrase!r}", file=sys.stderr)
    return made


def nothing(all_places: Sequence[Place], dice: random.Random) -> list[Spoken]:
    """Talk, and answers of other items: in no item's grammar."""
    made: list[Spoken] = []
    with_reading = [place for place in all_places if place.item.reading is not None]
    without = [place for place in all_places if place.item.reading is None]
    others = [phrase for place in without for phrase in place.item.expect]
    dice.shuffle(others)
    texts = [("talk", text) for text in TALK] + [("other item", text) for text in others]
    for index, (form, text) in enumerate(texts):
        place = dice.choice(with_reading if index % 2 else without)
        words = place.pack.tokenise(text)
        if place.grammar.is_complete(words):
            continue
        made.append(
            Spoken(
                check=place.check.id,
                item=place.item.id,
                text=" ".join(words),
                meaning=NoMatch(),
                form=form,
            )
        )
    return made[:NOTHING]


def prompts(all_places: Sequence[Place], dice: random.Random) -> Iterator[str]:
    """What the program itself says, as it comes back from a loudspeaker."""
    made: list[str] = []
    for place in all_places:
        wording = place.pack.wording
        item = place.item
        made.append(wording(Challenge(area=item.area, challenge=item.challenge)))
        made.append(wording(HoldingAt(challenge=item.challenge)))
        made.append(wording(LeftForLater(challenge=item.challenge)))
        if item.reading is not None:
            scale = item.reading.scale
            value = dice.choice(list(scale.values()))
            taken = SpokenValue(value=value, unit=item.reading.unit, scale=scale)
            verdict = judge(value, item.reading.limit)
            made.append(wording(ReadBack(taken=taken, verdict=verdict, limit=item.reading.limit)))
    dice.shuffle(made)
    for text in made:
        yield "".join(letter if letter.isalnum() or letter in "'- " else " " for letter in text)


def others_answers(all_places: Sequence[Place], dice: random.Random) -> Iterator[str]:
    """Responses and readings of the items, to be said where they answer nothing."""
    made: list[str] = []
    for place in all_places:
        made += [*place.item.expect, *place.item.not_as_expected]
        spec = place.item.reading
        if spec is None:
            continue
        for value in values_of(spec, dice)[:14]:
            words = dice.choice([text for _, text in forms(value, spec.scale.places)])
            unit = dice.choice([*place.pack.unit_words.get(spec.unit, ("",)), ""])
            name = dice.choice([*spec.names, ""])
            made.append(" ".join(f"{name} {words} {unit}".split()))
    dice.shuffle(made)
    yield from made


def other_talk(all_places: Sequence[Place]) -> list[tuple[Spoken, Role]]:
    """Texts in no grammar of the item that listens, those that score and those for training."""
    dice = random.Random(SEED + 1)
    sources = {
        "sentence": other_talk_texts.sentences(dice),
        "chatter": other_talk_texts.chatter(dice),
        "prompt": prompts(all_places, dice),
        "other item": others_answers(all_places, dice),
    }
    seen: set[str] = set()
    made: list[tuple[Spoken, Role]] = []
    for form, texts in sources.items():
        wanted = [Role.SCORE] * OTHER_TALK[form] + [Role.TRAIN] * TRAINING_TALK[form]
        for text in texts:
            if not wanted:
                break
            place = dice.choice(list(all_places))
            words = place.pack.tokenise(text)
            spelt = " ".join(words)
            if spelt in seen or not is_nothing(place, words):
                continue
            seen.add(spelt)
            spoken = Spoken(
                check=place.check.id,
                item=place.item.id,
                text=spelt,
                meaning=NoMatch(),
                form=form,
            )
            made.append((spoken, wanted.pop(0)))
        if wanted:
            print(f"{form}: {len(wanted)} texts short", file=sys.stderr)
    return made


def is_nothing(place: Place, words: Sequence[str]) -> bool:
    return not place.grammar.is_complete(words) and isinstance(
        place.grammar.meaning(words), NoMatch
    )


# --- sound -------------------------------------------------------------------------------

Sound = NDArray[np.float64]


def tts_text(text: str) -> str:
    """The text as the synthesiser has to be given it: letters said apart are capitals."""
    letters = {word: word.upper() for word in text.split() if len(word) == 1 and word not in "ai"}
    return " ".join({**letters, **TTS_SPELLING}.get(word, word) for word in text.split())


def say(recording: Recording) -> Sound:
    """Speak, or sound: samples at 16 kHz, -26 dBFS, silence at both ends cut off."""
    voice, text = recording.voice, recording.spoken.text
    if voice.program == "nobody":
        made = sound(Happening(text.strip("()")), np.random.default_rng(recording.seed))
        return np.asarray(made * SPEECH_RMS)
    return speak(voice, text)


def speak(voice: Voice, text: str, rate_wpm: int = 160) -> Sound:
    """Speak: samples at 16 kHz, -26 dBFS, silence at both ends cut off; flite has its own rate."""
    with tempfile.TemporaryDirectory() as folder:
        wav = Path(folder) / "speech.wav"
        if voice.program == "flite":
            command = ["flite", "-voice", voice.name, "-t", tts_text(text), "-o", str(wav)]
        else:
            rate = ["-s", str(rate_wpm)]
            command = ["espeak-ng", "-v", voice.name, *rate, "-w", str(wav), tts_text(text)]
        subprocess.run(command, check=True, capture_output=True)
        samples, rate = soundfile.read(wav, dtype="float64")
    if rate != RATE_HZ:
        samples = soxr.resample(samples, rate, RATE_HZ)
    loud = np.flatnonzero(np.abs(samples) > np.abs(samples).max() * 0.01)
    samples = samples[loud[0] : loud[-1] + 1]
    return np.asarray(samples * (SPEECH_RMS / np.sqrt(np.mean(samples**2))))


def room(length: int, seed: int) -> Sound:
    """The noise of a quiet room."""
    return np.random.default_rng(seed).normal(0.0, ROOM_RMS, length)


def record(speech: Sound, seed: int) -> Sound:
    """Put speech into a quiet room, with silence before and after."""
    lead, trail = int(LEAD_S * RATE_HZ), int(TRAIL_S * RATE_HZ)
    sound = room(lead + len(speech) + trail, seed)
    sound[lead : lead + len(speech)] += speech
    return sound


def write(path: Path, sound: Sound) -> str:
    """Write FLAC, 16 bit, or Ogg Opus by the name; give the digest."""
    path.parent.mkdir(parents=True, exist_ok=True)
    whole = np.clip(np.round(sound * 32768), -32768, 32767).astype(np.int16)
    if path.suffix == ".ogg":
        options = {"format": "OGG", "subtype": "OPUS", "compression_level": OPUS_COMPRESSION}
    else:
        options = {"format": "FLAC", "subtype": "PCM_16", "compression_level": 1.0}
    soundfile.write(path, whole, RATE_HZ, **options)
    return hashlib.sha256(path.read_bytes()).hexdigest()


# --- the set -----------------------------------------------------------------------------


def plan() -> list[Recording]:
    """Say which files there are to be."""
    dice = random.Random(SEED)
    found = list(places())
    by_kind: dict[str, list[Spoken]] = {
        "readings": readings(found, dice),
        "responses": responses(found, dice),
        "commands": commands(
            found, dice, (name for name in CommandName if name not in ADDED_COMMANDS)
        ),
        "nothing": nothing(found, dice),
    }
    clean: list[Recording] = []
    for folder, list_of in by_kind.items():
        # voices take turns over a shuffled list, so that no voice gets only one gauge or form
        order = list(range(len(list_of)))
        dice.shuffle(order)
        for turn, index in enumerate(order):
            voice = Voice(program="flite", name=FLITE_VOICES[turn % len(FLITE_VOICES)])
            clean.append(_recording(folder, index, list_of[index], voice))
    clean.sort(key=lambda one: one.file)
    meant = [one for one in clean if not one.file.startswith("nothing/")]
    noisy = [
        replace(
            one,
            part="noise",
            noise=noise,
            snr_db=snr_db,
        )
        for name in NOISE_VOICES
        for one in dice.sample([one for one in meant if one.voice.name == name], NOISE_SOURCES)
        for noise in NOISES
        for snr_db in SNRS_DB
    ]
    robotic = [
        replace(
            one,
            file=f"espeak/{one.file.replace('/', '-').rsplit('-', 1)[0]}-{name}.flac",
            part="other voices",
            voice=Voice(program="espeak-ng", name=name),
        )
        for turn, one in enumerate(dice.sample(meant, ESPEAK))
        for name in (ESPEAK_VOICES[turn % len(ESPEAK_VOICES)],)
    ]
    count = len(by_kind["commands"])
    added = [
        _recording("commands", count + turn, spoken, Voice(program="flite", name=name))
        for turn, spoken in enumerate(commands(found, random.Random(SEED + 3), ADDED_COMMANDS))
        for name in (FLITE_VOICES[turn % len(FLITE_VOICES)],)
    ]
    return clean + noisy + robotic + other(found) + added


def other(found: Sequence[Place]) -> list[Recording]:
    """Other talk and other sounds, part "other talk"."""
    made: list[Recording] = []
    turns = {Role.TRAIN: 0, Role.SCORE: 0}
    voices = {Role.TRAIN: TRAINING_VOICES, Role.SCORE: SCORE_TALKERS}
    for index, (spoken, role) in enumerate(other_talk(found)):
        program, name = voices[role][turns[role] % len(voices[role])].split()
        turns[role] += 1
        made.append(_other(index, spoken, Voice(program=program, name=name), role))
    dice = random.Random(SEED + 2)
    for turn in range(SOUNDS + TRAINING_SOUNDS):
        place = dice.choice(list(found))
        kind = list(Happening)[turn % len(Happening)]
        spoken = Spoken(
            check=place.check.id,
            item=place.item.id,
            text=f"({kind.value})",
            meaning=NoMatch(),
            form="sound",
        )
        role = Role.SCORE if turn < SOUNDS else Role.TRAIN
        # a voice of its own for training, as a voice that trains never scores
        name = "sounds" if role is Role.SCORE else "sounds-for-training"
        voice = Voice(program="nobody", name=name)
        made.append(_other(len(made), spoken, voice, role))
    return made


def _other(index: int, spoken: Spoken, voice: Voice, role: Role) -> Recording:
    return Recording(
        file=f"other_talk/{index + 1:03d}-{spoken.form.replace(' ', '-')}-{voice.name}.ogg",
        spoken=spoken,
        voice=voice,
        part="other talk",
        role=role,
        seed=int.from_bytes(hashlib.sha256(f"other{index}".encode()).digest()[:4], "big"),
    )


def _recording(folder: str, index: int, spoken: Spoken, voice: Voice) -> Recording:
    return Recording(
        file=f"{folder}/{index + 1:03d}-{spoken.item}-{voice.name}.flac",
        spoken=spoken,
        voice=voice,
        seed=int.from_bytes(hashlib.sha256(f"{folder}{index}".encode()).digest()[:4], "big"),
    )


def row(recording: Recording, speech_s: float, sha256: str) -> dict[str, str]:
    """The manifest's row of a recording."""
    spoken, meaning = recording.spoken, recording.spoken.meaning
    fields = dict.fromkeys(HEADER, "")
    how = f"synthetic speech: {recording.voice.program}, voice {recording.voice.name}"
    if recording.voice.program == "nobody":
        how = "synthetic sound, no speech: voiceflow.evaluation.cockpit"
    if recording.snr_db is not None:
        how += f"; {recording.noise} noise to be mixed in at {recording.snr_db} dB"
    fields |= {
        "file": recording.file,
        "part": recording.part,
        "check": spoken.check,
        "item": spoken.item,
        "text": spoken.text,
        "tts_text": tts_text(spoken.text),
        "voice": str(recording.voice),
        "noise": recording.noise,
        "snr_db": "" if recording.snr_db is None else str(recording.snr_db),
        "kind": "none" if isinstance(meaning, NoMatch) else meaning.kind,
        "form": spoken.form,
        "speech_start_s": f"{LEAD_S:.3f}",
        "speech_end_s": f"{LEAD_S + speech_s:.3f}",
        "how_made": how,
        "licence": recording.voice.licence,
        "sha256": sha256,
        "role": recording.may.value,
        "mixed": "" if recording.snr_db is None else MIXED,
    }
    match meaning:
        case Reading():
            fields |= {"value": str(meaning.value), "unit": meaning.unit}
        case Response():
            fields |= {"state": meaning.state.value, "phrase": meaning.phrase}
        case Command():
            fields |= {"command": meaning.name.value}
        case _:
            pass
    return fields


def make(recordings: Sequence[Recording], *, kept: bool) -> list[dict[str, str]]:
    """Make the files, or only those that are missing; give the manifest's rows in order."""
    # what is to be mixed with noise later has no file of its own
    files = {one.file: one for one in recordings if one.snr_db is None}

    def one(recording: Recording) -> tuple[int, str]:
        speech = say(recording)
        path = HERE / recording.file
        if kept and path.is_file():
            return len(speech), hashlib.sha256(path.read_bytes()).hexdigest()
        return len(speech), write(path, record(speech, recording.seed))

    with ThreadPoolExecutor(max_workers=2) as pool:
        made = dict(zip(files, pool.map(one, files.values()), strict=True))
    return [
        row(recording, made[recording.file][0] / RATE_HZ, made[recording.file][1])
        for recording in recordings
    ]


def main(arguments: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--plan", action="store_true", help="say what would be made, make nothing")
    parser.add_argument("--missing", action="store_true", help="leave files that are there")
    options = parser.parse_args(arguments)
    recordings = plan()
    if options.plan:
        for recording in recordings:
            print(recording.file, recording.spoken.form, repr(recording.spoken.text), sep="  ")
        return
    if not options.missing:
        for folder in {recording.file.split("/")[0] for recording in recordings}:
            shutil.rmtree(HERE / folder, ignore_errors=True)
    rows = make(recordings, kept=options.missing)
    with (HERE / "manifest.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, HEADER, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
    sounds = [path for path in HERE.rglob("*") if path.suffix in {".flac", ".ogg"}]
    size = sum(path.stat().st_size for path in sounds)
    print(f"{len(rows)} recordings, {size / 1e6:.1f} MB with the demo")


if __name__ == "__main__":
    main()
