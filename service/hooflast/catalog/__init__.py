"""Catalog: boot models with their sizes, the catalog releases that hold them, and the plugins they come from.

values      boot models, accessories, sizes, makers, catalog releases
library     the catalog releases this process serves, and which of them is active
plugin      the public plugin interface: all that a plugin imports
offers      what one plugin hands over, copied and bounded
asking      one plugin asked in a process of its own  plugin_process  that process
plugin_settings  what it is told, without secrets     raised      what it raised, and where
loading     all plugins asked, failures contained     composing  their editions put together
reading     the files of an edition turned into values, or every fault in them
document    one file's bytes as JSON                  structure   its form, by the published schema
meaning     what its records say                      chart       a boot model's size chart
references  what its records name                     gtin        check digits
register    the records by kind and id                size_successors  which size took another's place
availability  what is in sale on a day, and where an old size leads
release     ids made from content; releases written down and read back
canonical   values as bytes, equal ones alike (RFC 8785)
provenance  where each record came from, to be signed as a whole and proved alone       hash_tree  how (RFC 9162)
comparing   what changed from one catalog release to another
naming      which catalog release a person means
doubts      what to look at again before one is published    doubt_codes  its codes
chart_doubts  in a size chart               name_doubts  in names and size codes
validation  all that was found, with its severity and place  placing  where in its source a size stands
progress    how far long work has come      carrying    what is kept of plugins that fail just now
lifecycle   what becomes of a catalog release: staged, checked, published, withdrawn
errors      what the life of a catalog release refuses

catalog-file.schema.json is the published JSON Schema of catalog files.

Knows the words of `fit` and the lengths of `units`. Must not know the web, SQL, texts, settings, a clock, or any one
plugin; keeps no state of its own: a library is made by `loading.load_catalog` and handed on.
"""
