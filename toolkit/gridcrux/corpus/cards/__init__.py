"""Data cards: what a corpus is, how it was made, and what it may be used for."""

from gridcrux.corpus.cards.card import SAMPLE, Card, describe

__all__ = ["SAMPLE", "Card", "describe"]
