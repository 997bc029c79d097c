"""The engine's own codec (`takeoff.codec`), for those who keep its values: stored results, plans
and estimates."""

from __future__ import annotations

from takeoff.codec import canonical, digest, read, write

__all__ = ["canonical", "digest", "read", "write"]
