-- Only when the demo club is ended.
DROP TRIGGER IF EXISTS activity_keeps ON activity;
DROP TRIGGER IF EXISTS reading_keeps ON reading;
