"""One file for each schema version; a released file is never edited."""
