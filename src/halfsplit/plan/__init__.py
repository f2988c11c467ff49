"""Plan: every step that a repairer would trust, what each would tell, and which comes next.

`problem`, `exact`, `policies`, `rollout`, `options` and `advise` are the choice on plain arrays; `steps`, `table`,
`score`, `outlook`, `ahead` and `safely` apply it to a machine.
"""
