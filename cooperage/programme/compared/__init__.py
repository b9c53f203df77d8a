"""Trials across barrels: one lot split over treatments, the barrels drawn at random within blocks, and the answer.

The barrel is what a treatment was given to, so barrels treated alike are the error: however many glasses are poured of
them and however many taste, few barrels stay few. Start with `layout`, then `power`, `analysis` and `trial`.
"""
