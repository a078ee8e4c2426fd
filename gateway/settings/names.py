"""A gateway's store and site → the name under which its own files stand where several gateways share a folder."""

import hashlib


def gateway_name(store_url: str, site: str) -> str:
    """`tank-gateway-0123456789abcdef`: the same for whoever asks on this board, and no path or password in it."""
    return f"tank-gateway-{hashlib.sha256(f'{store_url} {site}'.encode()).hexdigest()[:16]}"
