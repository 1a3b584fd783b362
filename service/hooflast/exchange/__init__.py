"""Exchange: what comes in made into questions, and answers made into what goes out.

Reading the request of a match, whatever it is written in:

plain           raw JSON or Python values made plain, with the faults of form
yaml_text       YAML as a plain value            csv_text      CSV as hooves, one per row
cells           the text of one field            readings      flags and files of readings, joined with options
length_fields   lengths inside a form            form_fields   words, days and counts inside a form
form_reading    any form read, with every fault there is
match_form      the form of a match, and how it becomes a MatchQuestion
order_plan_form  what is on sale and what a plan is to reach
price_fields    money inside a form              offer_list    offers in a file of their own
faults          the codes of all faults          fault_texts   faults told to a person
job_lines       a file of horses taken apart as it comes    job_horse   one horse of it
bulk_rows       long lists of hooves, read and written row by row
outcome_form    outcomes of sold boots           outcome_rows  a file of them, one a row

Writing the answer:

answer_parts    what the documents of all answers share
match_document  the document's shape             match_writing   a MatchAnswer as that document, and as bytes
kept_release_document  a catalog release in the store
validation_document  all that was found in a catalog    provenance_document  where its records came from, with proof
horse_file      many horses in one file           present_document  where an old size leads
effects_form    horses to try a newer catalog release on
effects_document  which hooves it answers otherwise
changes_document  what changed between two catalog releases
order_plan_document  what to buy for one horse
proposal_document  what outcomes teach
cycle_form, cycle_document      the same for a question about the trim cycle
fitting_form, fitting_document  the same for a boot that is being tried on
hook_form, hook_document        where a client wants to be told of what happens
event_kinds     of what it can be told           event_document  what it is told
job_document    a match job                      job_result_document, job_result_rows  its results, as JSON and CSV
job_result_reading  what was kept of them, as documents again
schemas         the JSON Schemas of both sides

Exchange computes nothing and stores nothing; it knows texts and matching, no HTTP and no command line.
"""

from hooflast.exchange.fault_texts import FaultText, tell_fault
from hooflast.exchange.faults import FaultCode
from hooflast.exchange.match_document import MatchAnswerDocument
from hooflast.exchange.match_form import MatchForm, read_match_question
from hooflast.exchange.match_writing import AnswerWriter, match_document, write_match_answer
from hooflast.exchange.readings import Readings, ReadingsFormat, read_flags, read_readings
from hooflast.exchange.schemas import document_schemas, form_schemas

__all__ = [
    "AnswerWriter",
    "FaultCode",
    "FaultText",
    "MatchAnswerDocument",
    "MatchForm",
    "Readings",
    "ReadingsFormat",
    "document_schemas",
    "form_schemas",
    "match_document",
    "read_flags",
    "read_match_question",
    "read_readings",
    "tell_fault",
    "write_match_answer",
]
