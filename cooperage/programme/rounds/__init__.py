"""What is due at each vessel, when and why, and which keg serves it.

May know losses, upkeep and the leak's sign. Start with `due`.
"""
