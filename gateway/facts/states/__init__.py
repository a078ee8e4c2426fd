"""What the gateway remembers between texts, declared once: each kind is one frozen dataclass with a name and a version.

Of each kind the store keeps one value for each subject: a controller, a float, a tank, a contact, a trouble, or `""` for the gateway
itself. `reader.state(Silence, "ridge")` reads it, `tx.set_state(Silence(...), "ridge")` writes it, `tx.clear_state(Silence, "ridge")`
ends it. Whoever changes the fields of a kind counts its version up and says with `upgrade` how an older value becomes one of today;
`tests/facts/test_states.py` holds the fields of each version fast.
"""
