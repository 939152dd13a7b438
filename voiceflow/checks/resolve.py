"""One item as its file has it -> the item ready to run, held against the aircraft.

Holds the rules that fields of an item must keep between them.
"""

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from voiceflow.checks.aircraft import Aircraft, Gauge
from voiceflow.checks.computing import Compute, NotComputableError
from voiceflow.checks.fields import AircraftReference, ComputedReference, ScaleMarks
from voiceflow.checks.file import (
    AgreementFile,
    DayReference,
    ItemFile,
    ReadingFile,
    RemedyFile,
    SettingReference,
    WaitFile,
)
from voiceflow.checks.model import (
    Agreement,
    ComputedLimit,
    Item,
    Limit,
    ReadingSpec,
    Reference,
    Remedy,
    TrendKind,
    Wait,
)
from voiceflow.checks.problem import Problem
from voiceflow.checks.validation import did_you_mean
from voiceflow.checks.yaml_tree import Tree, TreePath
from voiceflow.numbers.scale import Scale

#: More marks than a person can tell apart on any gauge, and than a grammar of them
#: should hold: 0 to 9000 by 1 already makes 42,000 phrases.
MOST_MARKS = 20_000

#: Kilograms a litre that no fuel has: 800 is meant for kilograms a cubic metre.
_DENSEST = 2

#: What a limit that is worked out says of its gauge.
_TREND_OF_COMPUTED = {"crew-oxygen": TrendKind.OXYGEN, "engine-oil": TrendKind.FLOWN_HOURS}
_GASES = (TrendKind.OXYGEN, TrendKind.AIR)
_PRESSURE_UNITS = ("psi", "bar", "kPa", "hPa", "inHg")

_MINIMUM: TreePath = ("reading", "minimum")
_MAXIMUM: TreePath = ("reading", "maximum")
_BELOW: TreePath = ("reading", "caution", "below")
_ABOVE: TreePath = ("reading", "caution", "above")


def folded(phrase: str) -> str:
    """Give a phrase without case, punctuation and spare space, to compare it."""
    text = unicodedata.normalize("NFC", phrase).casefold()
    return " ".join(re.findall(r"\w+", text))


@dataclass(frozen=True, slots=True, kw_only=True)
class AircraftNames:
    """What the aircraft file offers, and what it names but has wrong.

    Attributes:
        aircraft: The aircraft; None if there is no file, or none that can be used.
        has_file: An aircraft file was read.
        is_broken: What the aircraft offers cannot be told, and a problem says why; so
            no name is called unknown.
        gauges: Every gauge name in the file, sound or not.
        limits: Every limit name in the file, sound or not.
        equipment: Every equipment name in the file, sound or not.
        compute: Works out limits for the day; None: nothing is known of the day.
    """

    aircraft: Aircraft | None = None
    has_file: bool = False
    is_broken: bool = False
    gauges: frozenset[str] = frozenset()
    limits: frozenset[str] = frozenset()
    equipment: frozenset[str] = frozenset()
    compute: Compute | None = None


class ItemResolver:
    """Resolves one item and gathers what is wrong with it.

    Attributes:
        problems: What has been found.
        computed: The limits that were worked out.
    """

    def __init__(
        self,
        tree: Tree,
        base: TreePath,
        written: ItemFile,
        label: str,
        cut: frozenset[str],
        names: AircraftNames,
    ) -> None:
        """Take what is known of the item.

        Args:
            tree: The check file.
            base: Path of the item in it.
            written: The item as the file has it.
            label: What problems call the item: its id, or its place if it has none.
            cut: Keys that were wrong and are therefore not in ``written``.
            names: What the aircraft file offers.
        """
        self.problems: list[Problem] = []
        self.computed: list[ComputedLimit] = []
        self._tree = tree
        self._base = base
        self._written = written
        self._cut = cut
        self._label = label
        self._names = names
        self._is_whole = not cut

    def is_fitted(self) -> bool:
        """Tell whether this tail has the equipment that the item is about."""
        fitted = True
        for name, wanted in (self._written.when or {}).items():
            aircraft = self._names.aircraft
            if name not in self._names.equipment:
                self._unknown(("when", name), "equipment", name, self._names.equipment, of_key=True)
            elif aircraft is not None and folded(aircraft.equipment.get(name, "")) != folded(
                wanted
            ):
                fitted = False
        return fitted

    def item(self) -> Item | None:
        """Give the item; None if something in it stops it from running."""
        written = self._written
        expect = self._expected()
        self._compare_phrases(expect, written.not_as_expected)
        if not expect and written.reading is None and not self._cut:
            self._problem(
                (),
                "no-answer",
                "nothing can answer this item",
                "Add expect: with the responses, or reading: with the gauge.",
            )
        reading = self._reading(written.reading) if written.reading is not None else None
        wait = self._wait(written.wait) if written.wait is not None else None
        if not self._is_whole:
            return None
        return Item(
            id=written.id,
            challenge=written.challenge,
            area=written.area,
            expect=expect,
            not_as_expected=written.not_as_expected,
            reading=reading,
            wait=wait,
            critical=written.critical,
            may_wait=written.may_wait,
            outside=_remedy(written.outside),
            line=self._tree.place(self._base).line,
        )

    # --- responses ---

    def _expected(self) -> tuple[str, ...]:
        """Give the expected responses; what a wait ends with is one, if none is named."""
        written = self._written
        if written.expect or written.wait is None or written.wait.until is None:
            return written.expect
        return (written.wait.until,)

    def _compare_phrases(self, expect: Iterable[str], wrong: Iterable[str]) -> None:
        seen: dict[str, str] = {}
        for key, phrases in (("expect", expect), ("not_as_expected", wrong)):
            for index, phrase in enumerate(phrases):
                folded_phrase = folded(phrase)
                path = (key, index)
                if not folded_phrase:
                    self._problem(
                        path, "empty-text", f"{phrase!r} has no word in it", "Write a word."
                    )
                elif seen.get(folded_phrase) == key:
                    self._problem(
                        path, "same-phrase", f"{phrase!r} stands twice in {key}", "Keep one."
                    )
                elif folded_phrase in seen:
                    self._problem(
                        path,
                        "both-right-and-wrong",
                        f"{phrase!r} is both expected and not as expected",
                        "Keep it in one of the two.",
                    )
                else:
                    seen[folded_phrase] = key

    # --- readings ---

    def _reading(self, written: ReadingFile) -> ReadingSpec | None:
        gauge = self._gauge(written)
        unit = gauge.unit if gauge is not None else None
        caution = written.caution
        if caution is not None and caution.below is None and caution.above is None:
            if "reading" not in self._cut:
                self._problem(
                    ("reading", "caution"),
                    "empty-caution",
                    "the caution band has neither below nor above",
                    "Give one of them, or take caution: out.",
                )
            caution = None
        limit = Limit(
            minimum=self._bound(_MINIMUM, written.minimum, unit),
            maximum=self._bound(_MAXIMUM, written.maximum, unit),
            caution_below=self._bound(_BELOW, caution.below, unit) if caution else None,
            caution_above=self._bound(_ABOVE, caution.above, unit) if caution else None,
        )
        self._compare_bounds(limit)
        if gauge is None:
            self._is_whole = False
            return None
        self._hold_against_scale(limit, gauge)
        return ReadingSpec(
            names=written.names,
            unit=gauge.unit,
            scale=gauge.scale,
            limit=limit,
            agrees=tuple(
                agreement
                for index, each in enumerate(written.agrees)
                if (agreement := self._agreement(index, each, gauge.unit)) is not None
            ),
            series=written.series or "",
            computed=tuple(dict.fromkeys(each.name for each in self.computed)),
            trend=self._trend(written, gauge.unit),
        )

    def _agreement(self, index: int, written: AgreementFile, unit: str) -> Agreement | None:
        base: TreePath = ("reading", "agrees", index)
        within_unit = "min" if written.time else unit
        within = self._bound((*base, "within"), written.within, within_unit)
        density = self._bound((*base, "density"), written.density, "kg/L")
        if within is not None and within < 0:
            what = f"within {within} is below zero"
            self._problem((*base, "within"), "agreement", what, "Give the largest difference.")
        if density is not None and not 0 < density <= _DENSEST:
            what = f"a density of {density} kg/L cannot be"
            remedy = "It is kilograms a litre: jet fuel has about 0.8."
            self._problem((*base, "density"), "agreement", what, remedy)
        if within is None:
            self._is_whole = False
            return None
        reference = _reference(written, density)
        is_of_items = not isinstance(written.reference, DayReference | SettingReference)
        if is_of_items and not reference.readings:
            what = "there is nothing to compare with"
            self._problem((*base, "with"), "agreement", what, "Name at least one item.")
        if written.density is not None and not is_of_items:
            what = "a density goes with readings of fuel only"
            self._problem((*base, "density"), "agreement", what, "Take density: out.")
        if written.time and len(reference.readings) != 1:
            what = "only readings can be times of day" if not is_of_items else "times are no sum"
            remedy = "Name one item, or take time: out."
            self._problem((*base, "time"), "agreement", what, remedy)
        if written.time and unit:
            what = f"a time of day is a bare number, and this reading is in {unit}"
            self._problem((*base, "time"), "agreement", what, "Take unit: or time: out.")
        return Agreement(
            reference=reference,
            within=within,
            is_time=written.time,
            name=written.name or "",
            outside=_remedy(written.outside),
        )

    def _trend(self, written: ReadingFile, unit: str) -> TrendKind:
        """Give how readings are compared over many runs."""
        if written.trend is None:
            bound = written.minimum
            computed = bound.compute if isinstance(bound, ComputedReference) else ""
            return _TREND_OF_COMPUTED.get(computed, TrendKind.PLAIN)
        if written.trend in _GASES and unit not in _PRESSURE_UNITS:
            self._problem(
                ("reading", "trend"),
                "trend-unit",
                f"{written.trend} is a gas under pressure, and the reading is in {_unit(unit)}",
                f"Take trend: out, or read it in one of {', '.join(_PRESSURE_UNITS)}.",
            )
        return written.trend

    def _gauge(self, written: ReadingFile) -> Gauge | None:
        path: TreePath = ("reading", "scale")
        if isinstance(written.scale, ScaleMarks):
            fault = scale_fault(written.scale)
            if fault is not None:
                self._problem((*path, fault.key), fault.rule, fault.what, fault.remedy)
                return None
            return Gauge(scale=made_scale(written.scale), unit=written.unit or "")
        name = written.scale.aircraft
        if name not in self._names.gauges:
            self._unknown((*path, "aircraft"), "gauge", name, self._names.gauges)
            return None
        aircraft = self._names.aircraft
        gauge = aircraft.gauges.get(name) if aircraft is not None else None
        if gauge is not None and written.unit is not None and written.unit != gauge.unit:
            self._problem(
                ("reading", "unit"),
                "unit-mismatch",
                f"the reading is in {written.unit}, the gauge {name} in {_unit(gauge.unit)}",
                "Use the gauge's unit here, or put the aircraft file right.",
            )
            return None
        return gauge

    def _bound(
        self,
        path: TreePath,
        written: Decimal | AircraftReference | ComputedReference | None,
        unit: str | None,
    ) -> Decimal | None:
        if isinstance(written, ComputedReference):
            return self._computed((*path, "compute"), written.compute, unit)
        if not isinstance(written, AircraftReference):
            return written
        name = written.aircraft
        if name not in self._names.limits:
            self._unknown((*path, "aircraft"), "limit", name, self._names.limits)
            return None
        aircraft = self._names.aircraft
        limit = aircraft.limits.get(name) if aircraft is not None else None
        if limit is None:
            self._is_whole = False  # the aircraft file has it wrong, and says so there
            return None
        if unit is not None and limit.unit != unit:
            self._problem(
                (*path, "aircraft"),
                "unit-mismatch",
                f"the reading is in {_unit(unit)}, the limit {name} in {_unit(limit.unit)}",
                "Bring both to the gauge's unit.",
            )
            return None
        return limit.value

    def _computed(self, path: TreePath, name: str, unit: str | None) -> Decimal | None:
        """Work a limit out; it is kept, so that the record can say what from."""
        aircraft, compute = self._names.aircraft, self._names.compute
        if aircraft is None or compute is None:
            self._is_whole = False  # a broken aircraft file says so there
            if not self._names.has_file and not self._names.is_broken:
                what = f"{name} cannot be worked out without an aircraft file"
                remedy = "Add aircraft_file: to this file, or name one with --aircraft."
                self._problem(path, "computed-limit", what, remedy)
            elif aircraft is not None:
                what = f"{name} is worked out for the day, and nothing is known of it here"
                self._problem(path, "computed-limit", what, "Write the number.")
            return None
        try:
            found = compute(name, aircraft)
        except NotComputableError as error:
            self._problem(path, "computed-limit", error.what, error.remedy)
            return None
        if unit is not None and found.unit != unit:
            self._problem(
                path,
                "unit-mismatch",
                f"the reading is in {_unit(unit)}, and {name} is worked out in {found.unit}",
                "Bring the gauge to that unit.",
            )
            return None
        self.computed.append(found)
        return found.value

    def _hold_against_scale(self, limit: Limit, gauge: Gauge) -> None:
        """Refuse limits that no reading of the gauge can keep."""
        unit = f" {gauge.unit}" if gauge.unit else ""
        scale = gauge.scale
        for path, name, bound in (
            (_MINIMUM, "minimum", limit.minimum),
            (_ABOVE, "caution above", limit.caution_above),
        ):
            if bound is not None and bound > scale.highest:
                self._problem(
                    path,
                    "limit-off-scale",
                    f"{name} {bound}{unit} lies above the gauge, which ends at "
                    f"{scale.highest}{unit}",
                    f"Lower {name} or raise scale: to.",
                )
        for path, name, bound in (
            (_MAXIMUM, "maximum", limit.maximum),
            (_BELOW, "caution below", limit.caution_below),
        ):
            if bound is not None and bound < scale.lowest:
                self._problem(
                    path,
                    "limit-off-scale",
                    f"{name} {bound}{unit} lies below the gauge, which begins at "
                    f"{scale.lowest}{unit}",
                    f"Raise {name} or lower scale: from.",
                )

    def _compare_bounds(self, limit: Limit) -> None:
        minimum, maximum = limit.minimum, limit.maximum
        if minimum is not None and maximum is not None and minimum > maximum:
            self._problem(
                _MINIMUM,
                "limits-crossed",
                f"minimum {minimum} lies above maximum {maximum}",
                "Swap them, or put one right.",
            )
            return
        below, above = limit.caution_below, limit.caution_above
        for path, name, bound in ((_BELOW, "below", below), (_ABOVE, "above", above)):
            if bound is None:
                continue
            if (minimum is not None and bound < minimum) or (
                maximum is not None and bound > maximum
            ):
                self._problem(
                    path,
                    "caution-outside-limits",
                    f"caution {name} {bound} lies outside the limits",
                    "A caution band lies between minimum and maximum.",
                )
        if below is not None and above is not None and below > above:
            self._problem(
                _BELOW,
                "limits-crossed",
                f"caution below {below} lies above caution above {above}",
                "Swap them: caution is below the one and above the other.",
            )

    # --- waits ---

    def _wait(self, written: WaitFile) -> Wait | None:
        self._compare_until(written)
        if "wait" in self._cut:
            return None
        is_timed, is_later = written.within is not None, written.ready_in is not None
        if is_timed == is_later:
            count = "both within and ready_in" if is_timed else "neither within nor ready_in"
            self._problem(
                ("wait",),
                "wait-times",
                f"the wait has {count}",
                "Give within: for an answer that must come in time, or ready_in: for "
                "something that is ready later.",
            )
            return None
        misplaced = (
            (("until", written.until), ("late", written.late))
            if is_later
            else (("say", written.say),)
        )
        for key, value in misplaced:
            if value is not None:
                self._problem(
                    ("wait", key),
                    "wait-keys",
                    f"{key} does not go with {'ready_in' if is_later else 'within'}",
                    "Take it out; until and late go with within, say with ready_in.",
                    of_key=True,
                )
        return Wait(
            within_s=written.within,
            ready_in_s=written.ready_in,
            say=written.say,
            late=_remedy(written.late),
        )

    def _compare_until(self, written: WaitFile) -> None:
        expect = self._written.expect
        if (
            expect
            and written.until is not None
            and folded(written.until) not in {folded(phrase) for phrase in expect}
        ):
            self._problem(
                ("wait", "until"),
                "wait-until",
                f"{written.until!r} is not one of the expected responses",
                "Add it to expect:, or wait until one that is there.",
            )

    # --- telling ---

    def _unknown(
        self,
        path: TreePath,
        kind: str,
        name: str,
        known: Iterable[str],
        *,
        of_key: bool = False,
    ) -> None:
        self._is_whole = False
        if self._names.is_broken:
            return
        if self._names.has_file:
            what = f"the aircraft file has no {kind} {name!r}"
            remedy = did_you_mean(
                name, known, f"Add it to the aircraft file under {_section(kind)!r}."
            )
        else:
            what = f"the {kind} {name!r} needs an aircraft file, and none is named"
            remedy = "Add aircraft_file: to this file, or name one with --aircraft."
        self._problem(path, f"unknown-{kind}", what, remedy, of_key=of_key)

    def _problem(
        self, path: TreePath, rule: str, what: str, remedy: str, *, of_key: bool = False
    ) -> None:
        self._is_whole = False
        self.problems.append(
            self._tree.problem(
                (*self._base, *path), rule, what, remedy, of_key=of_key, item=self._label
            )
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleFault:
    """Why marks make no scale, and the key to blame."""

    key: str
    rule: str
    what: str
    remedy: str


def scale_fault(marks: ScaleMarks) -> ScaleFault | None:
    """Tell why these marks make no scale, if so."""
    lowest, highest, step = marks.lowest, marks.highest, marks.step
    if highest < lowest:
        return ScaleFault(
            key="to",
            rule="scale-crossed",
            what=f"the scale ends at {highest}, below {lowest}, where it begins",
            remedy="Swap from and to.",
        )
    if step <= 0:
        return ScaleFault(
            key="step",
            rule="scale-step",
            what=f"the step is {step}, which leads nowhere",
            remedy="Give the distance between two marks, above zero.",
        )
    if (highest - lowest) / step >= MOST_MARKS:
        return ScaleFault(
            key="step",
            rule="scale-too-fine",
            what=f"the scale has more than {MOST_MARKS} marks",
            remedy="Give the step that people read, not the finest that is printed.",
        )
    if (highest - lowest) % step != 0:
        return ScaleFault(
            key="step",
            rule="scale-step",
            what=f"steps of {step} from {lowest} do not arrive at {highest}",
            remedy="Change the step, or where the scale ends.",
        )
    return None


def made_scale(marks: ScaleMarks) -> Scale:
    """Give the scale of marks that have no fault."""
    return Scale(lowest=marks.lowest, highest=marks.highest, step=marks.step, digits=marks.digits)


def _reference(written: AgreementFile, density: Decimal | None) -> Reference:
    match written.reference:
        case str() as name:
            return Reference(readings=(name,), density=density)
        case DayReference(day="elevation"):
            return Reference(elevation=True)
        case DayReference():
            return Reference(temperature=True)
        case SettingReference() as setting:
            return Reference(setting=setting.setting, qnh=setting.qnh)
        case names:
            return Reference(readings=names, density=density)


def _remedy(written: RemedyFile | None) -> Remedy | None:
    return Remedy(action=written.action, say=written.say) if written is not None else None


def _unit(symbol: str) -> str:
    return symbol or "no unit"


def _section(kind: str) -> str:
    return kind if kind == "equipment" else f"{kind}s"
