"""schema.org products with size specifications, in JSON-LD, as a catalog plugin for Hooflast.

settings    files, addresses, makers       json_ld   JSON-LD as plain objects, from a file or a page's scripts
products    product groups and sizes, by schema.org's terms       plugin    the steps of the plugin
"""
