-- Danger that nobody was told of yet: found as a pack was taken back or its volts were logged, not reported. What was found before is told.
ALTER TABLE finding ADD COLUMN is_to_tell BOOLEAN NOT NULL DEFAULT FALSE;
CREATE INDEX finding_to_tell ON finding (found_ms) WHERE is_to_tell = TRUE;

-- What whoever sent a report was answered: each answer is added, none is changed. The first of them has the id of its report.
CREATE TABLE report_answer (
    id UUID PRIMARY KEY,
    report_id UUID NOT NULL REFERENCES report (id),
    words TEXT NOT NULL,
    at_ms BIGINT NOT NULL,
    by_id UUID REFERENCES person (id)
);
CREATE INDEX report_answer_report ON report_answer (report_id, at_ms);
INSERT INTO report_answer (id, report_id, words, at_ms, by_id) SELECT id, id, answer, answered_ms, answered_by FROM report WHERE answered_ms IS NOT NULL;
ALTER TABLE report DROP COLUMN answer;
ALTER TABLE report DROP COLUMN answered_ms;
ALTER TABLE report DROP COLUMN answered_by;
