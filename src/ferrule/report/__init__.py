"""One module a report: a result in, a document of tables and notes out. Decides words, not looks."""
