"""Works: everything that is worked out from a form and not kept, whichever way it was asked for."""

from typing import Final

from hooflast.api.workplace import Work, Workplace
from hooflast.errors import Fault, InputRefused
from hooflast.exchange.coverage_document import CoverageDocument, coverage_document
from hooflast.exchange.coverage_form import CoverageForm, read_coverage_question
from hooflast.exchange.cycle_document import CycleAnswerDocument, cycle_document
from hooflast.exchange.cycle_form import CycleForm, read_cycle_question
from hooflast.exchange.effects_document import ReleaseEffectsDocument, effects_document
from hooflast.exchange.effects_form import EffectsQuestion, ReleaseEffectsForm, read_effects_question
from hooflast.exchange.fitting_document import FittingAnswerDocument, fitting_document
from hooflast.exchange.fitting_form import FittingForm, read_fitting_question
from hooflast.exchange.order_plan_document import OrderPlanDocument, order_plan_document
from hooflast.exchange.order_plan_form import OrderPlanForm, read_plan_question
from hooflast.exchange.outcome_form import OutcomesForm, read_outcomes
from hooflast.exchange.pads_document import PadsAnswerDocument, pads_document
from hooflast.exchange.pads_form import PadsForm, read_pads_question
from hooflast.exchange.proposal_document import CalibrationProposalDocument, proposal_document
from hooflast.exchange.trial_set_document import TrialSetDocument, trial_set_document
from hooflast.exchange.trial_set_form import TrialSetForm, read_trial_set_question
from hooflast.matching.answering import Desk
from hooflast.matching.calibrating import propose_calibration
from hooflast.matching.calibration import CalibrationProposal
from hooflast.matching.coverage import find_coverage
from hooflast.matching.coverage_answer import CoverageAnswer, CoverageQuestion
from hooflast.matching.fitting_answer import FittingAnswer, FittingQuestion
from hooflast.matching.fitting_trial import answer_fitting
from hooflast.matching.outcomes import OutcomesQuestion
from hooflast.matching.pads import answer_pads
from hooflast.matching.pads_answer import PadsAnswer, PadsQuestion
from hooflast.matching.plan_answer import PlanAnswer
from hooflast.matching.plan_question import PlanQuestion
from hooflast.matching.release_effects import EffectsAnswer, answer_effects
from hooflast.matching.shelf import Shelf
from hooflast.matching.trial_set_answer import TrialSetAnswer, TrialSetQuestion
from hooflast.matching.trial_sets import choose_trial_set
from hooflast.matching.trim_cycle import answer_trim_cycle
from hooflast.matching.trim_cycle_answer import CycleAnswer, CycleQuestion
from hooflast.matching.whole_horse import plan_whole_horse


def _answer_pads(question: PadsQuestion, place: Workplace) -> PadsAnswer:
    shelf = place.shelf_for(question.horse)
    return answer_pads(question, shelf, today=place.today, language=place.texts.language)


def _answer_trim_cycle(question: CycleQuestion, place: Workplace) -> CycleAnswer:
    shelf = place.shelf_for(question.horse)
    return answer_trim_cycle(question, shelf, today=place.today, language=place.texts.language)


def _answer_fitting_trial(question: FittingQuestion, place: Workplace) -> FittingAnswer:
    shelf = place.shelf_for(question.horse)
    return answer_fitting(question, shelf, today=place.today, language=place.texts.language)


def _answer_order_plan(question: PlanQuestion, place: Workplace) -> PlanAnswer:
    shelf = place.shelf_for(question.horse)
    return plan_whole_horse(question, shelf, today=place.today, language=place.texts.language)


def _answer_trial_set(question: TrialSetQuestion, place: Workplace) -> TrialSetAnswer:
    shelf = place.desk.shelf(question.herd.catalog_release)
    return choose_trial_set(question, shelf, today=place.today, language=place.texts.language)


def _answer_coverage(question: CoverageQuestion, place: Workplace) -> CoverageAnswer:
    shelf = place.desk.shelf(question.herd.catalog_release)
    return find_coverage(question, shelf, today=place.today, language=place.texts.language)


def _answer_calibration(question: OutcomesQuestion, place: Workplace) -> CalibrationProposal:
    shelf = place.desk.shelf(question.catalog_release)
    return propose_calibration(question, shelf, language=place.texts.language)


def _answer_release_effects(question: EffectsQuestion, place: Workplace) -> EffectsAnswer:
    new = place.desk.shelf(question.catalog_release)
    old = _older(question.since, desk=place.desk, new=new)
    return answer_effects(question.horses, old=old, new=new, today=place.today, language=place.texts.language)


def _older(since: str | None, *, desk: Desk, new: Shelf) -> Shelf:
    """The older catalog release laid out. Raises InputRefused where there is none."""
    asked = since
    if asked is None:
        before = desk.catalog.before(new.release.id)
        if before is None:
            raise InputRefused(faults=(Fault(path=("since",), code="no-release-before", received=None),))
        asked = before
    try:
        return desk.shelf(asked)
    except InputRefused:
        fault = Fault(path=("since",), code="catalog-release-unknown", received=since)
        raise InputRefused(faults=(fault,)) from None


PADS: Final = Work(
    form=PadsForm,
    gives=PadsAnswerDocument,
    read=read_pads_question,
    answer=_answer_pads,
    write=pads_document,
)

TRIM_CYCLE: Final = Work(
    form=CycleForm,
    gives=CycleAnswerDocument,
    read=read_cycle_question,
    answer=_answer_trim_cycle,
    write=cycle_document,
)

FITTING_TRIAL: Final = Work(
    form=FittingForm,
    gives=FittingAnswerDocument,
    read=read_fitting_question,
    answer=_answer_fitting_trial,
    write=fitting_document,
)

ORDER_PLAN: Final = Work(
    form=OrderPlanForm,
    gives=OrderPlanDocument,
    read=read_plan_question,
    answer=_answer_order_plan,
    write=order_plan_document,
)

TRIAL_SET: Final = Work(
    form=TrialSetForm,
    gives=TrialSetDocument,
    read=read_trial_set_question,
    answer=_answer_trial_set,
    write=trial_set_document,
)

COVERAGE: Final = Work(
    form=CoverageForm,
    gives=CoverageDocument,
    read=read_coverage_question,
    answer=_answer_coverage,
    write=coverage_document,
)

CALIBRATION: Final = Work(
    form=OutcomesForm,
    gives=CalibrationProposalDocument,
    read=read_outcomes,
    answer=_answer_calibration,
    write=proposal_document,
)

RELEASE_EFFECTS: Final = Work(
    form=ReleaseEffectsForm,
    gives=ReleaseEffectsDocument,
    read=read_effects_question,
    answer=_answer_release_effects,
    write=effects_document,
)
