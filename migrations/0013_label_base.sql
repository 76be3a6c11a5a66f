-- Labels that were printed with another address than people use now, without reading all that were not.
CREATE INDEX label_base ON label (base) WHERE ended_ms IS NULL;
