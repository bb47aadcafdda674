"""How far a job is: events that were entered, and the counts that follow from them. Pure; the book keeps the events."""
