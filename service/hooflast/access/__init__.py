"""Access: who may ask for what: keys and their secrets, scopes, origins, and how much of it in which time.

    key         what a key is and may do: kind, mode, scopes, origins, limits
    secret      a key's secret: made, written, read, compared
    origin      origins of web pages (RFC 6454)
    issuing     a new key from what is asked for
    limit       how often in which time, and the fields that tell it
    meter       counting, in blocks that all processes share out among them
    visitor     whom a browser's request is counted for
    guesses     how often somebody may show keys that are not known
    errors      refusals

It must not know: HTTP, SQL, sentences, settings, hooves, boots, the clock.
"""
