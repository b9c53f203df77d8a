"""Rows of bottlings: the risks that were passed, and the runs with their lines and closings."""
