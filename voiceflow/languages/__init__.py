"""One pack a language: number forms, commands, wording, lexicon."""
