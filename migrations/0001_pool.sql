-- The pool: people, places, packs, kit, loans, readings, findings and the log of every change.
-- One text for SQLite and PostgreSQL. Instants are Unix milliseconds UTC, days are YYYY-MM-DD, electric units are milli.

CREATE TABLE club (
    id BIGINT PRIMARY KEY CHECK (id = 1),
    name TEXT NOT NULL,
    time_zone TEXT NOT NULL,
    uses_fahrenheit BOOLEAN NOT NULL,
    uses_decimal_comma BOOLEAN NOT NULL,
    pack_prefix TEXT NOT NULL,
    loan_days BIGINT NOT NULL,
    reading_days BIGINT NOT NULL,
    spread_watch_mv BIGINT NOT NULL,
    spread_wide_mv BIGINT NOT NULL,
    may_members_borrow BOOLEAN NOT NULL,
    is_demo BOOLEAN NOT NULL,
    started_ms BIGINT NOT NULL
);

-- One row that each write takes first, so that writes come one after the other on both databases;
-- it carries the head of the log's chain.
CREATE TABLE turn (
    id BIGINT PRIMARY KEY CHECK (id = 1),
    log_seq BIGINT NOT NULL,
    log_hash TEXT NOT NULL
);
INSERT INTO turn (id, log_seq, log_hash) VALUES (1, 0, '');

CREATE TABLE person (
    id UUID PRIMARY KEY,
    name TEXT,
    sign_in TEXT,
    password_hash TEXT,
    table_code_hash TEXT,
    is_member BOOLEAN NOT NULL,
    is_quartermaster BOOLEAN NOT NULL,
    is_organiser BOOLEAN NOT NULL,
    responsible_id UUID REFERENCES person (id),
    created_ms BIGINT NOT NULL,
    deactivated_ms BIGINT,
    erased_ms BIGINT
);
CREATE UNIQUE INDEX person_sign_in ON person (sign_in) WHERE sign_in IS NOT NULL;

CREATE TABLE tablet (
    id UUID PRIMARY KEY,
    name TEXT NOT NULL,
    token_hash TEXT NOT NULL UNIQUE,
    opened_by UUID NOT NULL REFERENCES person (id),
    opened_ms BIGINT NOT NULL,
    ended_ms BIGINT
);

CREATE TABLE session (
    id UUID PRIMARY KEY,
    token_hash TEXT NOT NULL UNIQUE,
    person_id UUID NOT NULL REFERENCES person (id),
    tablet_id UUID REFERENCES tablet (id),
    device TEXT NOT NULL,
    created_ms BIGINT NOT NULL,
    seen_ms BIGINT NOT NULL,
    idle_minutes BIGINT NOT NULL,
    ends_ms BIGINT NOT NULL
);
CREATE INDEX session_person ON session (person_id);

-- Invitations and resets: a link that works once.
CREATE TABLE link (
    id UUID PRIMARY KEY,
    token_hash TEXT NOT NULL UNIQUE,
    kind TEXT NOT NULL CHECK (kind IN ('invite', 'reset')),
    person_id UUID NOT NULL REFERENCES person (id),
    made_by UUID NOT NULL REFERENCES person (id),
    made_ms BIGINT NOT NULL,
    ends_ms BIGINT NOT NULL,
    used_ms BIGINT
);

CREATE TABLE induction (
    id UUID PRIMARY KEY,
    person_id UUID NOT NULL REFERENCES person (id),
    shown_by UUID NOT NULL REFERENCES person (id),
    shown_on TEXT NOT NULL,
    ends_on TEXT,
    noted_ms BIGINT NOT NULL
);
CREATE INDEX induction_person ON induction (person_id);

CREATE TABLE place (
    id UUID PRIMARY KEY,
    name TEXT NOT NULL,
    kind TEXT NOT NULL,
    room TEXT NOT NULL,
    energy_limit_mwh BIGINT,
    notes TEXT NOT NULL,
    created_ms BIGINT NOT NULL,
    closed_ms BIGINT
);
CREATE UNIQUE INDEX place_name ON place (name) WHERE closed_ms IS NULL;

-- The club's own connector families; the usual ones come with the program.
CREATE TABLE connector (
    code TEXT PRIMARY KEY,
    spec TEXT NOT NULL,
    created_ms BIGINT NOT NULL
);

CREATE TABLE design (
    id UUID PRIMARY KEY,
    name TEXT NOT NULL,
    chemistry TEXT NOT NULL,
    cells_series BIGINT NOT NULL CHECK (cells_series > 0),
    groups_parallel BIGINT NOT NULL CHECK (groups_parallel > 0),
    capacity_mah BIGINT NOT NULL CHECK (capacity_mah > 0),
    label_discharge_c_tenths BIGINT,
    label_charge_c_tenths BIGINT,
    connector TEXT NOT NULL,
    balance_connector TEXT,
    mass_g BIGINT,
    size_mm TEXT NOT NULL,
    created_ms BIGINT NOT NULL
);

CREATE TABLE pack (
    id UUID PRIMARY KEY,
    number TEXT NOT NULL UNIQUE,
    number_key BIGINT NOT NULL,
    design_id UUID NOT NULL REFERENCES design (id),
    maker TEXT NOT NULL,
    batch TEXT NOT NULL,
    supplier TEXT NOT NULL,
    price TEXT NOT NULL,
    acquired_on TEXT,
    first_used_on TEXT,
    place_id UUID REFERENCES place (id),
    notes TEXT NOT NULL,
    life TEXT NOT NULL,
    life_before TEXT,
    -- What open findings and the last reading come to; 'not known' by age is worked out when it is read.
    state TEXT NOT NULL,
    state_words TEXT NOT NULL,
    state_next TEXT NOT NULL,
    state_ms BIGINT NOT NULL,
    state_by UUID REFERENCES person (id),
    last_volts TEXT,
    last_rested_minutes BIGINT,
    last_read_ms BIGINT,
    created_ms BIGINT NOT NULL
);
CREATE INDEX pack_by_number ON pack (number_key, number);
CREATE INDEX pack_state ON pack (state, number_key);
CREATE INDEX pack_last_read ON pack (last_read_ms);
CREATE INDEX pack_design ON pack (design_id);
CREATE INDEX pack_place ON pack (place_id);
CREATE INDEX pack_batch ON pack (batch);

CREATE TABLE kit (
    id UUID PRIMARY KEY,
    number TEXT NOT NULL UNIQUE,
    number_key BIGINT NOT NULL,
    kind TEXT NOT NULL,
    name TEXT NOT NULL,
    maker TEXT NOT NULL,
    spec TEXT NOT NULL,
    owned_count BIGINT NOT NULL CHECK (owned_count >= 0),
    place_id UUID REFERENCES place (id),
    notes TEXT NOT NULL,
    life TEXT NOT NULL,
    set_aside_words TEXT,
    set_aside_ms BIGINT,
    set_aside_by UUID REFERENCES person (id),
    created_ms BIGINT NOT NULL
);
CREATE INDEX kit_kind ON kit (kind, number_key);

-- An evening or event at which packs are handed out: every loan made while it is open inherits it.
CREATE TABLE night (
    id UUID PRIMARY KEY,
    place_id UUID NOT NULL REFERENCES place (id),
    on_duty_id UUID NOT NULL REFERENCES person (id),
    ends_on TEXT NOT NULL,
    ends_at TEXT NOT NULL,
    opened_by UUID NOT NULL REFERENCES person (id),
    opened_ms BIGINT NOT NULL,
    closed_ms BIGINT
);
CREATE UNIQUE INDEX night_open ON night ((closed_ms IS NULL)) WHERE closed_ms IS NULL;

CREATE TABLE loan (
    id UUID PRIMARY KEY,
    borrower_id UUID NOT NULL REFERENCES person (id),
    handed_by UUID NOT NULL REFERENCES person (id),
    night_id UUID REFERENCES night (id),
    due_on TEXT NOT NULL,
    purpose TEXT NOT NULL,
    opened_ms BIGINT NOT NULL
);
CREATE INDEX loan_borrower ON loan (borrower_id);

-- What stands on a loan: a pack, a numbered piece of kit, or a count of adapters.
CREATE TABLE lent (
    id UUID PRIMARY KEY,
    loan_id UUID NOT NULL REFERENCES loan (id),
    pack_id UUID REFERENCES pack (id),
    kit_id UUID REFERENCES kit (id),
    counted BIGINT,
    opened_ms BIGINT NOT NULL,
    override_words TEXT,
    closed_ms BIGINT,
    closed_by UUID REFERENCES person (id),
    outcome TEXT,
    CHECK ((pack_id IS NULL) <> (kit_id IS NULL)),
    CHECK ((closed_ms IS NULL) = (outcome IS NULL))
);
CREATE UNIQUE INDEX lent_pack_open ON lent (pack_id) WHERE closed_ms IS NULL AND pack_id IS NOT NULL;
CREATE UNIQUE INDEX lent_kit_open ON lent (kit_id) WHERE closed_ms IS NULL AND kit_id IS NOT NULL AND counted IS NULL;
CREATE INDEX lent_loan ON lent (loan_id);
CREATE INDEX lent_pack ON lent (pack_id, opened_ms);
CREATE INDEX lent_kit ON lent (kit_id) WHERE closed_ms IS NULL;
CREATE INDEX lent_open ON lent (opened_ms) WHERE closed_ms IS NULL;

-- Readings are never changed: a wrong one is named by the one that corrects it.
CREATE TABLE reading (
    id UUID PRIMARY KEY,
    pack_id UUID NOT NULL REFERENCES pack (id),
    taken_ms BIGINT NOT NULL,
    by_id UUID NOT NULL REFERENCES person (id),
    volts TEXT,
    rested_minutes BIGINT NOT NULL,
    unread_words TEXT,
    corrects_id UUID REFERENCES reading (id),
    lent_id UUID REFERENCES lent (id),
    CHECK ((volts IS NULL) <> (unread_words IS NULL))
);
CREATE INDEX reading_pack ON reading (pack_id, taken_ms);

-- What stands against a pack until somebody answers it.
CREATE TABLE finding (
    id UUID PRIMARY KEY,
    pack_id UUID NOT NULL REFERENCES pack (id),
    rule TEXT NOT NULL,
    gravity TEXT NOT NULL,
    words TEXT NOT NULL,
    next_words TEXT NOT NULL,
    reading_id UUID REFERENCES reading (id),
    found_ms BIGINT NOT NULL,
    found_by UUID REFERENCES person (id),
    last_holder_id UUID REFERENCES person (id),
    closed_ms BIGINT,
    closed_by UUID REFERENCES person (id),
    closed_words TEXT
);
CREATE INDEX finding_open ON finding (pack_id) WHERE closed_ms IS NULL;
CREATE INDEX finding_pack ON finding (pack_id, found_ms);

-- Who did what when, before and after; each entry commits to the one before it.
CREATE TABLE activity (
    seq BIGINT PRIMARY KEY,
    at_ms BIGINT NOT NULL,
    by_id UUID,
    verb TEXT NOT NULL,
    subject TEXT NOT NULL,
    subject_id UUID NOT NULL,
    before TEXT NOT NULL,
    after TEXT NOT NULL,
    hash TEXT NOT NULL
);
CREATE INDEX activity_subject ON activity (subject_id, seq);
CREATE INDEX activity_kind ON activity (subject, at_ms, seq);

-- The answer a form or a request was given, so that sending it again has one effect.
CREATE TABLE form_key (
    key TEXT PRIMARY KEY,
    person_id UUID NOT NULL,
    body_hash TEXT NOT NULL,
    answer TEXT NOT NULL,
    at_ms BIGINT NOT NULL
);
CREATE INDEX form_key_at ON form_key (at_ms);
