"""The `Notes` columns: what comments and word commands said."""
