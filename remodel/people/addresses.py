"""Where a request came from, and under which address others reach us."""

from __future__ import annotations

import ipaddress

import segno
from django.conf import settings
from django.http import HttpRequest
from django.utils.http import url_has_allowed_host_and_scheme

__all__ = ["client_address", "code_picture", "next_page", "shared_url"]


def client_address(request: HttpRequest) -> str:
    """The address a request came from. What a proxy adds is believed only where one is named as
    trusted, and then its own word alone: the last address in the list, which the sender cannot
    write."""
    address = str(request.META.get("REMOTE_ADDR") or "")
    if settings.TRUSTED_PROXY:
        address = (
            str(request.META.get("HTTP_X_FORWARDED_FOR") or address).rpartition(",")[2].strip()
            or address
        )
    try:
        ip = ipaddress.ip_address(address)
    except ValueError:
        return "unknown"
    # a household of the newer kind has a whole network to itself
    return str(ipaddress.ip_network(f"{ip}/64", strict=False)) if ip.version == 6 else str(ip)


def shared_url(request: HttpRequest, path: str) -> str:
    """The address of a page for another device: on the home network this machine's own address, not
    its loopback."""
    if settings.HOSTED or not settings.LAN_HOST:
        return request.build_absolute_uri(path)
    host = f"[{settings.LAN_HOST}]" if ":" in settings.LAN_HOST else settings.LAN_HOST
    return f"http://{host}:{settings.PORT}{path}"


def code_picture(address: str) -> str:
    """A QR code of an address, as the source of an image."""
    return segno.make(address, error="m", micro=False).svg_data_uri(scale=5, border=4, light="#fff")


def next_page(request: HttpRequest, fallback: str = "/") -> str:
    """Where to go on, given as `next`; never to another site."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    allowed = url_has_allowed_host_and_scheme(
        wanted, {request.get_host()}, require_https=request.is_secure()
    )
    return wanted if allowed else fallback
