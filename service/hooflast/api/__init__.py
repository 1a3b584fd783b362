"""api: HTTP over the use cases of the rooms below. It reads input, calls, and shapes the answer.

app             create_app: everything put together; nothing happens at import
server          serve: migrate, prepare, listen, stop gracefully
rest/           one module per resource
graphql/        the same at one address, in one language of questions
works, workplace, reading, kept_matches, release_comparing   what both call
pages/          what people read in a browser: the start page, its form, troubleshooting, documentation
service         what handlers work with
admission, caller, known_keys   who is let in by which key, on whose behalf, and how much of it
cors            which pages may read an answer
operations      one declaration per route: the route and its documentation come from it
parameters, paging, answers, documents, shaping   reading queries, pages, ETags, and writing the catalog as JSON
negotiation, body   what is accepted, and how much of it
problems, refusals  errors told as RFC 9457 problems, by one table
conversation, running, logs   request ids, HEAD, Allow, the access line, what is still being answered
collecting      full garbage collections between requests
openapi, openapi_fields, reference, html   the OpenAPI document, the page made from it, and the frame of plain pages
policy          the Content-Security-Policy of pages and pictures

The room must not know SQL, formulas or the wording of any sentence.
"""
