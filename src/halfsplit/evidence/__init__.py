"""From what was found to what may be at fault: findings and their file, likelihood, posterior, and why.

Two halves. Findings, as they are written and as they are weighed, know machines and the predictor:

- ``finding``, ``displayed``, ``finding_fields``, ``findings_file``, ``copying``: what was found, and how it is written
- ``weigh``, ``weighing``: findings against predictions, as arrays; a job weighed and grouped for people
- ``pairs``: two faults at once, where single ones leave something unexplained
- ``mended``, ``well``: what may still be wrong after a repair; whether anything found is unlike the healthy machine
- ``switched``: what is mended by the way, where a machine was isolated at a handle of the house

The rest is numeric: it takes arrays over candidates, which are indices, and knows no machine:

- ``likelihood``, ``ranges``, ``slips``: what a finding is as arrays, known as a number or a range, or with a slip in it
- ``posterior``, ``unexplained``, ``told``: the candidates, *something the file does not say*, and what an owner tells
  of a fault that comes and goes
- ``outcome``, ``partition``: what steps would tell, in bits about the repair
- ``why``: which findings speak for and against a candidate, and by how much
"""
