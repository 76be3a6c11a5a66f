-- Who must or may be told of an incident: the club's own checklist, as JSON; empty while it has set none.
ALTER TABLE club ADD COLUMN whom_to_tell TEXT NOT NULL DEFAULT '';
