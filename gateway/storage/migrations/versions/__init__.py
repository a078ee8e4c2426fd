"""One file a revision; the newest is `gateway.storage.schema.HEAD`."""
