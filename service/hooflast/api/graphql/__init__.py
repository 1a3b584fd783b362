"""graphql: the same as REST in one language of questions, at POST /graphql. It and rest know nothing of each other.

route, request_form, answering   a request from its body to what is sent (GraphQL over HTTP, September 2026)
documents, limits, cost     documents known by their ids, and what they may not be and may not cost
telling, errors             what is wrong, with the codes of problems
schema                      the resources put together; sdl writes it down
catalog, releases, plugins, troubles, matches, works, hooks, assortments, match_jobs   one module a resource
job_results                 what a match job has answered so far, page by page
provenance                  where the records of the catalog came from, on the nodes of catalog and releases
outputs, inputs, enumerations, scalars, bounds, naming   types made from documents and forms, none written twice
nodes, node_fields, connections, pinned, fields   Relay's nodes and pages, and what every field declares
context, loaders            one request, and what its fields ask of the store, gathered

A resource is one module with `FIELDS`, `MUTATIONS` and `FINDERS`, named in `schema.RESOURCES`.
"""
