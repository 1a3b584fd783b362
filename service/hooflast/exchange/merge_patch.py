"""Merge patch: a JSON document changed by another that says what is different (RFC 7396)."""


def merge_patch(target: object, patch: object) -> object:
    """`target` with `patch` applied, as section 2 defines it."""
    if not isinstance(patch, dict):
        return patch
    merged = dict(target) if isinstance(target, dict) else {}
    for name, value in patch.items():
        if value is None:
            merged.pop(name, None)
        else:
            merged[name] = merge_patch(merged.get(name), value)
    return merged
