"""CP-SAT: statements encoded, solved by windows, explained, turned into drafts."""
