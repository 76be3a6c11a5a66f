-- A charge or discharge of a pack by one output of a charger: what was set, who stays with it, and how it ended.
CREATE TABLE charge (
    id UUID PRIMARY KEY,
    pack_id UUID NOT NULL REFERENCES pack (id),
    charger_id UUID NOT NULL REFERENCES kit (id),
    output BIGINT NOT NULL,
    supply_id UUID REFERENCES kit (id),
    supply_port BIGINT,
    cable_id UUID REFERENCES kit (id),
    adapter_near UUID REFERENCES kit (id),
    adapter_far UUID REFERENCES kit (id),
    mode TEXT NOT NULL CHECK (mode IN ('balance', 'charge', 'storage', 'discharge')),
    -- It waits until its cells are alike, or there is nothing to wait for.
    is_balanced BOOLEAN NOT NULL,
    purpose TEXT NOT NULL CHECK (purpose IN ('ready_by', 'no_hurry', 'storage', 'empty')),
    current_ma BIGINT NOT NULL,
    target_mv BIGINT NOT NULL,
    least_minutes BIGINT NOT NULL,
    most_minutes BIGINT NOT NULL,
    least_mah BIGINT NOT NULL,
    most_mah BIGINT NOT NULL,
    cutoff_mah BIGINT NOT NULL,
    cutoff_minutes BIGINT NOT NULL,
    drawn_mw BIGINT NOT NULL,
    started_ms BIGINT NOT NULL,
    started_by UUID NOT NULL REFERENCES person (id),
    watched_by UUID NOT NULL REFERENCES person (id),
    -- Read back once more, after the power was cut.
    read_back_ms BIGINT,
    ended_ms BIGINT,
    ended_by UUID REFERENCES person (id),
    outcome TEXT CHECK (outcome IN ('finished', 'stopped', 'wrong')),
    moved_mah BIGINT,
    end_words TEXT,
    CHECK ((ended_ms IS NULL) = (outcome IS NULL))
);
CREATE UNIQUE INDEX charge_of_pack_now ON charge (pack_id) WHERE ended_ms IS NULL;
CREATE UNIQUE INDEX charge_on_output_now ON charge (charger_id, output) WHERE ended_ms IS NULL;
CREATE INDEX charge_pack ON charge (pack_id, started_ms);

-- What each output was last set to: a charger remembers it for the next pack.
CREATE TABLE charger_setting (
    charger_id UUID NOT NULL REFERENCES kit (id),
    output BIGINT NOT NULL,
    current_ma BIGINT NOT NULL,
    set_ms BIGINT NOT NULL,
    PRIMARY KEY (charger_id, output)
);
