"""Tallylux: proves from meter data what a lighting retrofit with controls has saved."""

__version__ = "0.1.0"
