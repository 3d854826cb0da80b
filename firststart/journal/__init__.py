"""Appends facts durably, reads them back, never changes one."""
