"""A JSON feed over HTTP, mapped by JMESPath, as a catalog plugin for Hooflast.

settings   the addresses and expressions     pages     all pages of the feed
mapping    a page as a catalog file          plugin    the steps of the plugin
"""
