"""Migrations, run by :mod:`tubside.store.upgrading`."""
