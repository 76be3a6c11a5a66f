-- What an output was last set to is asked for each card: its charge is found without going through all of them.
CREATE INDEX charge_on_output ON charge (charger_id, output, started_ms);
