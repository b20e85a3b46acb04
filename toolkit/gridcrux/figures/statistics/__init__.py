"""Pictures of the tables of `corpus.statistics`, a file for each of its topics."""
