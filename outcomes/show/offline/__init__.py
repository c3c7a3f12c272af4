"""Offline pages for the chair: what each is put together from, and how it becomes one file."""
