"""Routes: every route there is."""

from typing import Final

from hooflast.api.graphql import route as graphql
from hooflast.api.operations import OPERATION, Operation
from hooflast.api.pages import docs, start, troubles
from hooflast.api.rest import (
    assortment_items,
    assortments,
    boots,
    calibration_proposals,
    coverage,
    fitting_trials,
    health,
    hook_deliveries,
    hooks,
    makers,
    match_job_results,
    match_jobs,
    matches,
    metrics,
    order_plans,
    pads,
    pages,
    pictures,
    plugins,
    present_size,
    provenance,
    release_changes,
    release_effects,
    releases,
    sizes,
    trial_sets,
    trim_cycles,
    troubleshooting,
)

ROUTES: Final = (
    matches.create_match,
    matches.read_match,
    matches.erase_match,
    pictures.read_picture,
    pictures.read_sizes_picture,
    match_jobs.create_match_job,
    match_jobs.list_match_jobs,
    match_jobs.read_match_job,
    match_job_results.read_match_job_results,
    match_jobs.cancel_match_job,
    match_jobs.remove_match_job,
    pads.work_out_pads,
    pads.draw_pads,
    trial_sets.choose_set,
    trial_sets.draw_curve,
    coverage.find,
    coverage.draw,
    trim_cycles.work_out_trim_cycle,
    trim_cycles.draw_trim_cycle,
    fitting_trials.work_out_fitting_trial,
    calibration_proposals.propose,
    troubleshooting.list_troubles,
    troubleshooting.read_trouble,
    order_plans.plan_order,
    assortments.create_assortment,
    assortments.list_assortments,
    assortments.read_one_assortment,
    assortment_items.list_assortment_items,
    assortments.replace_assortment,
    assortments.change_assortment,
    assortments.remove_assortment,
    makers.list_makers,
    makers.read_maker,
    boots.list_boots,
    boots.read_boot,
    sizes.list_sizes,
    present_size.read_present_size,
    releases.list_catalog_releases,
    releases.read_catalog_release,
    release_changes.list_catalog_release_changes,
    release_effects.work_out_release_effects,
    provenance.list_catalog_release_provenance,
    provenance.read_record_provenance,
    provenance.read_seal_keys,
    plugins.list_plugins,
    hooks.create_hook,
    hooks.list_hooks,
    hooks.read_hook,
    hooks.remove_hook,
    hooks.rotate_hook_secret,
    hooks.test_hook,
    hook_deliveries.list_hook_deliveries,
    hook_deliveries.replay_hook,
    hook_deliveries.repeat_hook_delivery,
    graphql.answer_graphql,
    metrics.read_metrics,
    health.read_live,
    health.read_ready,
    start.read_start,
    start.read_form_page,
    start.answer_form,
    troubles.read_troubles,
    docs.read_docs,
    pages.read_openapi,
    pages.read_reference,
    pages.list_problems,
    pages.read_problem,
)


def operations() -> tuple[Operation, ...]:
    """What every route declares."""
    return tuple(route.opt[OPERATION] for route in ROUTES)


def methods_by_path() -> dict[str, list[str]]:
    """The methods that each path declares."""
    methods: dict[str, list[str]] = {}
    for operation in operations():
        methods.setdefault(operation.path, []).append(operation.method)
    return methods
