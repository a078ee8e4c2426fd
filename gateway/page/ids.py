"""Ids of the configuration, which may hold anything, → ids of the page."""


def tank_id(tank: str) -> str:
    """Of a tank's card."""
    return f"tank-{tank.encode().hex()}"


def box_id(controller: str) -> str:
    """Of a controller's card."""
    return f"box-{controller.encode().hex()}"
