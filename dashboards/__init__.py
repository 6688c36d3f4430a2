"""The dashboard: pages over a verification, served from this computer alone."""

from dashboards.app import create_app
from dashboards.server.serving import serve

__all__ = ["create_app", "serve"]
