"""The guide: one page of Markdown a topic, shown by F1 and printed by `cooperage guide`. Start with `pages`."""
