"""What several tests share: vans, climates, an independent integrator, the bench of the published checks.

Nothing here imports a test, and no test imports another.
"""
