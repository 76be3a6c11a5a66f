-- What came back in the last day, without reading every loan.
CREATE INDEX lent_back ON lent (closed_ms);
