"""The tests of the whole chain: the drill to the people, the walk from the float."""
