-- A report that waits on a phone since before its digest left out who was signed in is known by its key alone, or it would be refused as
-- another one. So is every one that came before this.
UPDATE report SET phone_hash = '' WHERE phone_hash IS NOT NULL;
-- Forms of nobody signed in: their digests could name who was.
DELETE FROM form_key WHERE person_id NOT IN (SELECT id FROM person);
-- Each pack page asks for the reports of its findings, and each report for its doubles.
CREATE INDEX report_finding ON report (finding_id) WHERE finding_id IS NOT NULL;
CREATE INDEX report_merged ON report (merged_into) WHERE merged_into IS NOT NULL;
