"""The usual caution, as it stands under every text and in the document."""

from __future__ import annotations

__all__ = ["CAUTION"]

CAUTION = (
    "These are quantities, not a verdict on any floor, wall or ceiling: local code and licensed "
    "people decide on structure, wiring, gas, and fire-rated work. Old paint and old joint "
    "compound may hold lead or asbestos: have them tested before you cut or sand. Board dust holds "
    "silica: sand wet or with a vacuum and wear an N95 or better respirator. Two people lift a "
    "sheet; spread stacks along the walls, never in the middle of a floor. A floating seam is good "
    "practice in many places, but model codes ask for board ends on framing: ask your inspector, "
    "or set joint_mode to framing."
)
