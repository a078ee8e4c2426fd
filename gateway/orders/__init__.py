"""A contact's text → an order."""

from gateway.orders.loops import heard, like_a_machine, may_answer
from gateway.orders.parse import Dry, Note, Ok, Order, Tanks, Unknown, Week, Words, Work, parse

__all__ = [
    "Dry",
    "Note",
    "Ok",
    "Order",
    "Tanks",
    "Unknown",
    "Week",
    "Words",
    "Work",
    "heard",
    "like_a_machine",
    "may_answer",
    "parse",
]
