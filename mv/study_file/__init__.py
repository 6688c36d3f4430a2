"""study.toml as a text: its keys, what can be wrong with it, its reference, and edits in place."""
