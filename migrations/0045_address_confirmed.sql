-- Since when a person was asked, by a mail to it, whether an address is theirs; empty once they said so, and of all that was kept before.
ALTER TABLE reach ADD COLUMN unconfirmed_ms BIGINT;
-- A message that asks for that tells no reminders. `on_day` of it holds more than its day.
ALTER TABLE mail ADD COLUMN is_to_confirm BOOLEAN NOT NULL DEFAULT FALSE;
