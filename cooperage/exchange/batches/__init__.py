"""`honeys.csv` and `batches.csv`: honey as it came in, and the batch sheets of lots; start with `rows`."""
