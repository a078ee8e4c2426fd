"""Sample texts, labelled or bare → rules proposed for a controller, as TOML to paste."""
