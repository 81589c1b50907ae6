"""What comments and word commands mean: shapes of text -> meanings -> remarks."""
