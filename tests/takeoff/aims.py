"""Aims that tests plan with."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

__all__ = ["SHEETS_AND_SEAMS"]

# Money for sheets and a price on seams: plans are then told by what is bought and cut alone.
SHEETS_AND_SEAMS: dict[str, Any] = {"hour": Decimal(0), "seam_price": Decimal("1.00")}
