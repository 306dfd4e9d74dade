"""Proofs that take longer than a test may: faults that the tests must see, random houses, the ledger of evidence."""
