"""Boots and their sizes from a database, by a query, as a catalog plugin for Hooflast."""
