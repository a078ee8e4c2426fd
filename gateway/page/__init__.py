"""The house as values → one self-contained HTML page, and how it is written whole or not at all."""

from gateway.page.render import render, write
from gateway.page.view import BoxView, EventView, LaneView, PageView, SpellView, SunView, TankView

__all__ = ["BoxView", "EventView", "LaneView", "PageView", "SpellView", "SunView", "TankView", "render", "write"]
