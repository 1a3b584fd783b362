"""Size charts in spreadsheets as a catalog plugin for Hooflast.

settings    which files, and the mapping that says what their columns mean
tables      a file as rows of cells: XLSX with merged cells, CSV in any of its dialects
ranges      "118–124", "118 to 124", "<124", "4 5/8 – 4 7/8", "11,8-12,4" as two ends
mapping     rows as boot models and sizes, and what became of each row
plugin      the steps of the plugin
"""
