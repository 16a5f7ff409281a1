"""A page of HTML that needs nothing but itself: its styles and scripts, which alone may act."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from hashlib import sha256
from html import escape
from importlib.resources import files

__all__ = ["document_html"]


def document_html(
    title: str, body: str, *, styles: Sequence[str], scripts: Sequence[str], rules: str = ""
) -> str:
    """The page as text. ``styles``, ``scripts``: names of files beside this one, in their order;
    ``rules``: more style of this page alone."""
    css, js = "".join(map(_own, styles)) + rules, "".join(map(_own, scripts))
    policy = (
        f"default-src 'none'; style-src {_digest(css)}; script-src {_digest(js)}; "
        "img-src data:; base-uri 'none'; form-action 'none'"
    )
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        '<meta name="color-scheme" content="light dark">'
        f"<title>{escape(title)}</title><style>{css}</style></head>"
        f"<body>{body}<script>{js}</script></body></html>\n"
    )


def _own(name: str) -> str:
    return files("generators.report").joinpath(name).read_text(encoding="utf-8")


def _digest(text: str) -> str:
    """A script or style as the policy names it (Content Security Policy Level 3)."""
    return f"'sha256-{base64.b64encode(sha256(text.encode()).digest()).decode('ascii')}'"
