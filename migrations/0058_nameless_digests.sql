-- What a phone sent names who was signed in, and its digest is kept: whoever has the database could try the people of the club
-- through and find who told without a name. New digests leave that out; those from before are forgotten.
UPDATE report SET phone_hash = '' WHERE by_id IS NULL AND phone_hash IS NOT NULL;
UPDATE form_key SET body_hash = '' WHERE person_id IS NULL;
