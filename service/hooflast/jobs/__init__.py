"""Jobs: work that goes on beside requests: files of horses answered, and clients told of what happens by signed hooks.

addresses    which addresses a hook may lead to
signing      the headers that sign a message (Standard Webhooks)
retrying     when an attempt that failed is made again
sending      one attempt over HTTP
telling      what happened, as deliveries to the hooks that want it
delivering   deliveries that are due, attempted and settled
keeping      hooks made, rotated, tested and caught up, on behalf of a tenant
match_jobs, receiving, answering_lines, telling_results   files of horses, taken in, answered line by line, read

The room joins the store with exchange and HTTP clients. It must not know routes, settings or sentences; clocks,
chance and the resolving of names are handed in.
"""
