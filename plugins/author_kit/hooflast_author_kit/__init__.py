"""For authors of Hooflast catalog plugins.

command_line    `hooflast-author-kit new` and `check`
template        the files that a new plugin begins with
suite           what Hooflast relies on in a plugin, as tests
subject         the plugin that they are run on, asked once      looking  what it says of itself
pytest_plugin   the suite's options and fixtures                 telling  its results as sentences
"""
