"""The parts of a verification, each joining a few stages; `mv.verify` strings them together."""
