import pytest

from voiceflow.grammar.lexicon import Lexicon, parse_dictionary

TEXT = """\
;;; a comment
READ R EH D
read(2) R IY D

psi S AY # the Greek letter
read(3) R IY D
"""


def test_entries_with_variants() -> None:
    lexicon = parse_dictionary(TEXT)
    assert lexicon.pronunciations == {
        "read": (("R", "EH", "D"), ("R", "IY", "D")),
        "psi": (("S", "AY"),),
    }
    assert len(lexicon) == 2
    assert "read" in lexicon
    assert lexicon["psi"] == (("S", "AY"),)


def test_a_word_without_phones_is_refused_by_line() -> None:
    with pytest.raises(ValueError, match="line 2: 'niner'"):
        parse_dictionary("nine N AY N\nniner\n")


def test_a_pack_stands_over_an_engine_s_dictionary() -> None:
    pack = Lexicon(pronunciations={"psi": (("P", "IY"),), "niner": (("N", "AY", "N", "ER"),)})
    merged = pack.over(parse_dictionary(TEXT))
    assert merged["psi"] == (("P", "IY"),)
    assert merged["read"] == (("R", "EH", "D"), ("R", "IY", "D"))
    assert merged.missing(["read", "zulu", "alfa", "zulu"]) == ("alfa", "zulu")


def test_entries_are_written_as_they_are_read() -> None:
    lexicon = parse_dictionary(TEXT)
    lines = [f"{word} {' '.join(phones)}" for word, phones in lexicon.entries()]
    assert lines == ["read R EH D", "read(2) R IY D", "psi S AY"]
    assert parse_dictionary("\n".join(lines)) == lexicon
