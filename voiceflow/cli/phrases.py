"""``voiceflow phrases``: what can be said."""

from pathlib import Path

import click

from voiceflow.checks.model import Item
from voiceflow.cli import options
from voiceflow.cli.checks import find_item, item_before, load_own
from voiceflow.grammar.item_grammar import ItemGrammar, compile_item
from voiceflow.grammar.meaning import Reading
from voiceflow.grammar.sample import sample
from voiceflow.languages.registry import language
from voiceflow.phraseology.language import Language

_EXAMPLES = 200


@click.command("phrases")
@click.argument("check")
@click.argument("item", required=False)
@options.aircraft
@options.own_words
def command(check: str, item: str | None, aircraft: str | None, own_words: Path | None) -> None:
    """Show what you can say at an ITEM of CHECK, or list the items.

    \b
    Examples:
      voiceflow phrases cockpit-preparation
      voiceflow phrases cockpit-preparation crew-oxygen
    """
    loaded = load_own(check, aircraft, own_words)
    pack = language(loaded.language)
    if item is None:
        click.echo(f"{loaded.title}, {loaded.aircraft} {loaded.tail}".rstrip())
        width = max(len(one.id) for one in loaded.items)
        for one in loaded.items:
            click.echo(f"  {one.id:<{width}}  {one.challenge}: {_wanted(one)}")
        click.echo(f"\nWhat can be said at one: voiceflow phrases {check} ITEM")
        return
    asked = find_item(loaded, item)
    grammar = compile_item(asked, pack, item_before(loaded, asked))
    _show(asked, grammar, pack)


def _wanted(item: Item) -> str:
    wants = list(item.expect)
    if item.reading is not None:
        scale, unit = item.reading.scale, item.reading.unit
        wants.append(f"{scale.lowest} to {scale.highest} {unit} by {scale.step}".replace("  ", " "))
    return ", ".join(wants)


def _show(item: Item, grammar: ItemGrammar, pack: Language) -> None:
    click.echo(item.challenge)
    _list("As expected", item.expect)
    _list("Not as expected", item.not_as_expected)
    readings = [
        phrase
        for phrase in sample(grammar, _EXAMPLES)
        if isinstance(grammar.meaning(pack.tokenise(phrase)), Reading)
    ]
    _list(f"A reading: {_wanted(item)}, for example" if item.reading else "", readings)
    click.echo("  At any item:")
    width = max(len(name) for name in pack.commands)
    for name, phrases in pack.commands.items():
        click.echo(f"    {name:<{width}}  {', '.join(phrases)}")


def _list(title: str, phrases: "tuple[str, ...] | list[str]") -> None:
    if not phrases:
        return
    click.echo(f"  {title}:")
    for phrase in phrases:
        click.echo(f"    {phrase}")
