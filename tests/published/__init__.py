"""Checks against published standards, handbook tables, worked examples and reference libraries."""
