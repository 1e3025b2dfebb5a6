"""The shop's own changes on a shipped pack: kept beside it, reversible, never inside it."""
