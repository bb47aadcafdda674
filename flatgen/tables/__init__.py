"""Numbers with sources; read on first use."""
