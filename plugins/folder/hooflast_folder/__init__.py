"""A folder of catalog files, in JSON or YAML, as a catalog plugin for Hooflast."""
