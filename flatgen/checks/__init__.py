"""Trade rules: one file a family, one function a rule, found by scanning this folder."""
