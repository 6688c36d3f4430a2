"""A first study.toml from a folder's files: what `tallylux new` finds and writes."""
