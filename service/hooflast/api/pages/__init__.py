"""pages: what people read in a browser, rendered here, without a script.

start       GET /, GET and POST /match: an answer as a person wants to see it, and the form for one's own numbers
troubles    GET /troubleshooting: the guides to troubles with boots
docs        GET /docs/{page}: the documentation
validation  the report on a catalog, as a page to hand on; `hooflast catalog check` writes it
form        a form as browsers send it, made into the document that `exchange` reads, and its faults led back to fields
choices     the fields of the form: their names, and the words they offer
view        an answer ready to be laid out: drawn, sorted, with its sources
templating  templates/ and style.css, put together
demo        the horse that the start page shows

A module here holds no rule: what is refused, offered or warned of comes from `exchange` and `matching`.
"""
