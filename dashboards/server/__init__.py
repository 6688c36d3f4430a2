"""Serving: this computer alone, or whoever knows the password."""
