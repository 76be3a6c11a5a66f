-- A double stands in the book with the report that it was merged into, and that one with it: an event is one incident.
UPDATE report SET incident = COALESCE((SELECT MIN(d.incident) FROM report d WHERE d.merged_into = report.id AND d.incident <> ''), '')
WHERE incident = '';
UPDATE report SET incident = COALESCE((SELECT s.incident FROM report s WHERE s.id = report.merged_into), '')
WHERE incident = '' AND merged_into IS NOT NULL;
