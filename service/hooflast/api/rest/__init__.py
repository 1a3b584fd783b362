"""rest: one small module per resource, each a few routes that read input, call, and shape the answer.

matches     POST /v1/matches, GET and DELETE /v1/matches/{match_id}
match_jobs  POST and GET /v1/match-jobs, GET and DELETE /v1/match-jobs/{job_id}, POST .../cancellation
match_job_results  GET /v1/match-jobs/{job_id}/results
pictures    GET /v1/matches/{match_id}/pictures/{picture}, /v1/matches/{match_id}/pictures/{limb}/sizes.svg
troubleshooting  GET /v1/troubleshooting, /v1/troubleshooting/{trouble}
calibration_proposals  POST /v1/calibration-proposals
order_plans  POST /v1/order-plans
makers      GET /v1/makers, /v1/makers/{maker_id}
boots       GET /v1/boots, /v1/boots/{boot_id}
sizes       GET /v1/boots/{boot_id}/sizes
present_size  GET /v1/boots/{boot_id}/present-size
releases    GET /v1/catalog-releases, /v1/catalog-releases/{release_id}
release_changes  GET /v1/catalog-releases/{release_id}/changes
release_effects  POST /v1/release-effects
plugins     GET /v1/plugins
health      GET /health/live, /health/ready
pages       GET /openapi.json, /reference, /problems/{code}

A module here knows no SQL and holds no rule and no arithmetic.
"""
