"""Steps that bring a store from one schema version to the next."""
