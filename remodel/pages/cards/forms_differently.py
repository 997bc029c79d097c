"""Forms: how a piece hangs differently than planned."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms

from remodel.bridge.lengths import INCH
from remodel.differently import Piece, Source
from remodel.web.fields import LengthField
from remodel.web.forms import HouseForm

__all__ = ["CutWrongForm", "ElsewhereForm", "OtherSheetForm", "TakenDownForm"]


def _shorter(piece: Piece) -> int:
    """A length for an example: somewhat shorter than the piece, in whole inches."""
    length = piece.board.length if piece.board is not None else 40 * INCH
    return max(INCH, (length - 4 * INCH) // INCH * INCH)


class CutWrongForm(HouseForm):
    keep = LengthField(
        label="Keep what is left of it as an offcut: its length now (optional)",
        least=1,
        required=False,
    )

    def __init__(self, *args: Any, piece: Piece, **kwargs: Any) -> None:
        keep = self.base_fields["keep"]
        assert isinstance(keep, LengthField)
        super().__init__(*args, **kwargs)
        mine = self.fields["keep"]
        assert isinstance(mine, LengthField)
        mine.example = _shorter(piece)
        mine.help_text = f"Empty if it is waste. For example, {mine.shown_example}"


class ElsewhereForm(HouseForm):
    end = forms.ChoiceField(label="Which end is elsewhere", widget=forms.RadioSelect)
    length = LengthField(label="How long the board is", least=INCH)

    def __init__(self, *args: Any, piece: Piece, ends: Mapping[str, str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        end, length = self.fields["end"], self.fields["length"]
        assert isinstance(end, forms.ChoiceField)
        assert isinstance(length, LengthField)
        end.choices = list(ends.items())
        length.example = _shorter(piece)
        length.help_text = (
            "Hook the tape on one end of the board and read it at the other, along its long edge. "
            f"For example, {length.shown_example}"
        )


class OtherSheetForm(HouseForm):
    source = forms.ChoiceField(label="What it came out of", widget=forms.RadioSelect)

    def __init__(self, *args: Any, sources: Sequence[Source], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        source = self.fields["source"]
        assert isinstance(source, forms.ChoiceField)
        source.choices = [(one.name, one.words) for one in sources]


class TakenDownForm(HouseForm):
    keep = forms.ChoiceField(
        label="What becomes of it",
        choices=[("yes", "Keep it as an offcut, under its mark"), ("no", "It is waste")],
        widget=forms.RadioSelect,
    )
