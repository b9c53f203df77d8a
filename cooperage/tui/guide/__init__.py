"""The sheet of keys (`?`) and the guide (F1), each over the screen one is on. Start with `screen`."""
