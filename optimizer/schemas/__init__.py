"""JSON Schemas of the files in a run folder, as printed by `holewright schema`."""
