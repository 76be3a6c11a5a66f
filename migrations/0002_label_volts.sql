-- What a pack's own label says of its volts, mV per cell; counts where it is stricter than the chemistry.
ALTER TABLE design ADD COLUMN label_full_mv BIGINT;
ALTER TABLE design ADD COLUMN label_lowest_mv BIGINT;
