-- A message tells a day's reminders, or danger that was just reported. `on_day` of the latter holds more than its day, which tells them
-- apart; reminders name the message that tells them by it.
ALTER TABLE mail ADD COLUMN kind TEXT NOT NULL DEFAULT 'day' CHECK (kind IN ('day', 'at_once'));

-- When those who run the club were told at once that danger was reported. What came before is told.
ALTER TABLE report ADD COLUMN told_ms BIGINT;
UPDATE report SET told_ms = came_ms;
CREATE INDEX report_untold ON report (came_ms) WHERE told_ms IS NULL AND (gravity IN ('danger', 'final_danger') OR is_now = 'yes');
