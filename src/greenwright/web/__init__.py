"""The web face: pages and a JSON interface on this machine; see README.md."""

from greenwright.web.app import create_app
from greenwright.web.serve import serve

__all__ = ["create_app", "serve"]
