"""What commands share.

Opening a cellar, turning errors into one line and a status, writing what was pasted, plain output. Start with
`desk`.
"""
