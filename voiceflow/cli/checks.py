"""Finds and loads the check that was typed, and an item of it."""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from pathlib import Path

from rapidfuzz import process

from voiceflow.checks.loader import NO_SITUATION
from voiceflow.checks.model import Check, Item
from voiceflow.checks.plan import Plan, composed, load_plan
from voiceflow.checks.shipped import find_aircraft, find_check, find_check_or_plan, is_plan
from voiceflow.errors import CheckFileError, UnknownItemError
from voiceflow.limits.computed import SOME_DAY, Conditions, MeasuredOil
from voiceflow.session.vocabulary import find_own_words, load_own_check


def load(check: str, aircraft: str | None) -> Check:
    """Load a check for one aircraft, without anybody's own words.

    Args:
        check: A path, or the name of a shipped check.
        aircraft: A path, or the name of a shipped aircraft file; None: the one that
            the check file names.

    Raises:
        UsageError: If there is no such file.
        CheckFileError: With every problem of the files.
    """
    aircraft_path = find_aircraft(aircraft) if aircraft is not None else None
    return load_own_check(find_check(check), aircraft_path, None, SOME_DAY)


def load_own(
    check: str, aircraft: str | None, own_words: Path | None, conditions: Conditions = SOME_DAY
) -> Check:
    """Load a check for one aircraft with the person's own words in it.

    Args:
        check: A path, or the name of a shipped check or sector plan.
        aircraft: A path, or the name of a shipped aircraft file; None: the one that
            the check file names.
        own_words: The personal file; None: the one in the usual place, if any.
        conditions: Of the day, for limits that are worked out.

    Raises:
        UsageError: If there is no such file.
        CheckFileError: With every problem of the files.
    """
    return load_run(check, aircraft, own_words, conditions, NO_SITUATION).check


@dataclass(frozen=True, slots=True, kw_only=True)
class Loaded:
    """What is to be run.

    Attributes:
        check: One check, or the checks of a sector as one.
        plan: The plan of the sector; None: it is one check.
        conditions: Of the day: from the command line, else from the plan.
    """

    check: Check
    plan: Plan | None
    conditions: Conditions


def load_run(
    name: str,
    aircraft: str | None,
    own_words: Path | None,
    conditions: Conditions,
    situation: Mapping[str, str],
    oil: MeasuredOil | None = None,
) -> Loaded:
    """Load a check, or every check of a sector, with the person's own words in it.

    Args:
        name: A path, or the name of a shipped check or sector plan.
        aircraft: A path, or the name of a shipped aircraft file; None: the one that the
            plan names, else the ones that the checks name.
        own_words: The personal file; None: the one in the usual place, if any.
        conditions: Of the day; what is said here goes before what the plan says.
        situation: What items' ``when`` may ask for; goes before what the plan says.
        oil: What an engine uses, if runs before tell.

    Raises:
        UsageError: If there is no such file.
        CheckFileError: With every problem of the files.
    """
    path = find_check_or_plan(name)
    aircraft_path = find_aircraft(aircraft) if aircraft is not None else None
    own = find_own_words(own_words)
    if not is_plan(path):
        check = load_own_check(path, aircraft_path, own, conditions, situation, oil)
        return Loaded(check=check, plan=None, conditions=conditions)
    plan = load_plan(path)
    day = _of_the_day(plan, conditions)
    known = {**plan.situation, **situation}
    checks, problems = [], []
    for planned in plan.checks:
        try:
            found = beside(path, planned.name)
            checks.append(
                load_own_check(found, aircraft_path or plan.aircraft_file, own, day, known, oil)
            )
        except CheckFileError as error:
            problems += [each for each in error.problems if each not in problems]
    if problems:
        raise CheckFileError(tuple(problems))
    return Loaded(check=composed(plan, checks), plan=plan, conditions=day)


def beside(plan: Path, name: str) -> Path:
    """Find a check of a plan: in the plan's folder, else among the shipped ones.

    Raises:
        UsageError: If there is none, with the nearest names.
    """
    for own in (plan.parent / name, plan.parent / f"{name}.yaml"):
        if own.is_file():
            return own
    return find_check(name)


def _of_the_day(plan: Plan, said: Conditions) -> Conditions:
    """Give the conditions: what was said, else what the plan has."""
    planned = Conditions(
        temperature_c=plan.temperature_c,
        crew=plan.crew,
        hours=plan.hours,
        elevation_ft=plan.elevation_ft,
        density_kg_l=plan.density_kg_l,
    )
    known = {
        each.name: value for each in fields(said) if (value := getattr(said, each.name)) is not None
    }
    return replace(planned, **known)


def find_item(check: Check, item_id: str) -> Item:
    """Give the item of that name.

    Raises:
        UnknownItemError: If there is none, with the names that look like it.
    """
    try:
        return check.item(item_id)
    except KeyError:
        names = [item.id for item in check.items]
        near = process.extract(item_id, names, limit=3, score_cutoff=60)
        raise UnknownItemError(check.id, item_id, [name for name, _, _ in near]) from None


def item_before(check: Check, item: Item) -> Item | None:
    """Give the item that is normally answered before this one; None for the first."""
    position = check.position(item.id)
    return check.items[position - 1] if position else None
