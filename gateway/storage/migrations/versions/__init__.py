"""One file a revision; the newest is `gateway.storage.migrate.HEAD`."""
