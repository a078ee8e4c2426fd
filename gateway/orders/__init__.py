"""A contact's text → an order."""

from gateway.orders.order_words import (
    Ask,
    Dry,
    No,
    Note,
    Ok,
    Order,
    Over,
    Tanks,
    Unknown,
    Walk,
    Week,
    Words,
    Work,
    Yes,
    folded,
    parse,
)
from gateway.orders.reply_loops import heard, like_a_machine, may_answer

__all__ = [
    "Ask",
    "Dry",
    "No",
    "Note",
    "Ok",
    "Order",
    "Over",
    "Tanks",
    "Unknown",
    "Walk",
    "Week",
    "Words",
    "Work",
    "Yes",
    "folded",
    "heard",
    "like_a_machine",
    "may_answer",
    "parse",
]
