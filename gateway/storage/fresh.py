"""The tables of a new SQLite store, as the migrations leave them (a test compares the two).

Times are UTC microseconds since 1970; JSON is text; every row carries its site, so that gateways may share one database.
Changed only together with a migration.
"""

STATEMENTS = (
    """
    CREATE TABLE alembic_version (
        version_num VARCHAR(32) NOT NULL,
        CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
    )""",
    """
    CREATE TABLE events (
        id INTEGER NOT NULL,
        site VARCHAR(120) NOT NULL,
        kind VARCHAR(20) NOT NULL,
        at INTEGER NOT NULL,
        heard_at INTEGER NOT NULL,
        known_at INTEGER NOT NULL,
        tank VARCHAR(120),
        controller VARCHAR(120),
        input VARCHAR(40),
        text TEXT,
        sender VARCHAR(40),
        detail TEXT NOT NULL,
        PRIMARY KEY (id)
    )""",
    "CREATE INDEX events_at ON events (site, at, id)",
    "CREATE INDEX events_controller ON events (site, controller, at)",
    "CREATE INDEX events_kind ON events (site, kind, at)",
    "CREATE INDEX events_tank ON events (site, tank, kind, at)",
    """
    CREATE TABLE call_outs (
        id INTEGER NOT NULL,
        site VARCHAR(120) NOT NULL,
        opened_at INTEGER NOT NULL,
        closed_at INTEGER,
        data TEXT NOT NULL,
        PRIMARY KEY (id)
    )""",
    "CREATE INDEX call_outs_open ON call_outs (site, closed_at)",
    """
    CREATE TABLE arrivals (
        id INTEGER NOT NULL,
        site VARCHAR(120) NOT NULL,
        "key" VARCHAR(64) NOT NULL,
        memory VARCHAR(8) NOT NULL,
        slot INTEGER,
        pdu TEXT NOT NULL,
        number VARCHAR(40) NOT NULL,
        heard_at INTEGER NOT NULL,
        freed BOOLEAN NOT NULL,
        PRIMARY KEY (id)
    )""",
    'CREATE INDEX arrivals_key ON arrivals (site, "key")',
    "CREATE INDEX arrivals_slot ON arrivals (site, memory, slot, freed)",
    """
    CREATE TABLE parts (
        id INTEGER NOT NULL,
        site VARCHAR(120) NOT NULL,
        arrival INTEGER NOT NULL,
        number VARCHAR(40) NOT NULL,
        reference INTEGER NOT NULL,
        part INTEGER NOT NULL,
        total INTEGER NOT NULL,
        text TEXT NOT NULL,
        stamp INTEGER,
        heard_at INTEGER NOT NULL,
        PRIMARY KEY (id),
        FOREIGN KEY(arrival) REFERENCES arrivals (id)
    )""",
    "CREATE INDEX parts_of ON parts (site, number, reference, total)",
    """
    CREATE TABLE texts (
        id INTEGER NOT NULL,
        site VARCHAR(120) NOT NULL,
        way VARCHAR(3) NOT NULL,
        number VARCHAR(40) NOT NULL,
        contact VARCHAR(120),
        controller VARCHAR(120),
        text TEXT NOT NULL,
        at INTEGER NOT NULL,
        known_at INTEGER NOT NULL,
        state VARCHAR(10) NOT NULL,
        segments INTEGER NOT NULL,
        tries INTEGER NOT NULL,
        event INTEGER,
        import_key VARCHAR(64),
        urgent BOOLEAN NOT NULL,
        subject VARCHAR(12) NOT NULL,
        call_out INTEGER,
        not_before INTEGER,
        possible_repeat BOOLEAN NOT NULL,
        handed_at INTEGER,
        PRIMARY KEY (id),
        FOREIGN KEY(event) REFERENCES events (id),
        FOREIGN KEY(call_out) REFERENCES call_outs (id)
    )""",
    "CREATE INDEX texts_at ON texts (site, at)",
    "CREATE INDEX texts_call_out ON texts (site, call_out) WHERE call_out IS NOT NULL",
    "CREATE INDEX texts_handed ON texts (site, handed_at) WHERE handed_at IS NOT NULL",
    "CREATE INDEX texts_heard ON texts (site, controller, at)",
    "CREATE UNIQUE INDEX texts_import ON texts (site, import_key) WHERE import_key IS NOT NULL",
    "CREATE INDEX texts_state ON texts (site, way, state)",
    """
    CREATE TABLE segments (
        id INTEGER NOT NULL,
        site VARCHAR(120) NOT NULL,
        text INTEGER NOT NULL,
        segment INTEGER NOT NULL,
        number VARCHAR(40) NOT NULL,
        reference INTEGER NOT NULL,
        at INTEGER NOT NULL,
        outcome VARCHAR(10) NOT NULL,
        PRIMARY KEY (id),
        FOREIGN KEY(text) REFERENCES texts (id)
    )""",
    "CREATE INDEX segments_reference ON segments (site, reference, number, outcome)",
    "CREATE INDEX segments_text ON segments (text)",
    """
    CREATE TABLE pauses (
        id INTEGER NOT NULL,
        site VARCHAR(120) NOT NULL,
        tank VARCHAR(120) NOT NULL,
        since INTEGER NOT NULL,
        until INTEGER NOT NULL,
        "by" VARCHAR(120),
        ended BOOLEAN NOT NULL,
        PRIMARY KEY (id)
    )""",
    "CREATE INDEX pauses_open ON pauses (site, ended)",
    """
    CREATE TABLE marks (
        site VARCHAR(120) NOT NULL,
        "key" VARCHAR(200) NOT NULL,
        value TEXT NOT NULL,
        PRIMARY KEY (site, "key")
    )""",
)
