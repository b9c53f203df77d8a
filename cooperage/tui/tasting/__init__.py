"""Flights: poured, scored blind, revealed.

Start with `screen`.
"""
