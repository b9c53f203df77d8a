"""`cooperage order` and `cooperage orders`: what is to be done, written beforehand, checked, printed and done.

Parse, call one function of `programme/orders`, print.
"""
