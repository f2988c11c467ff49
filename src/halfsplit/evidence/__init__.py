"""From what was found to what may be at fault: likelihood, posterior, and why.

The room is numeric: it takes arrays over candidates, which are indices, and knows no machine.

- ``likelihood`` what a finding is as arrays, and the joint mass of numbers that share unknowns
- ``slips``      the likelihood when people may have slipped, summed over sets of slips
- ``posterior``  candidates, intermittent faults, unstated settings, the posterior
- ``unexplained`` *something the file does not say*, and the finding that fits worst
- ``why``        which findings speak for and against a candidate, and by how much
- ``outcome``    what a step would tell, in bits about the repair
"""
