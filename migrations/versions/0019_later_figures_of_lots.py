"""The cost and the end of a lot, and readings of CO2, turbidity and a heat test: new words, no new table.

An older program would take them for damage; this mark lets it refuse the cellar instead.
"""

revision = "0019_later_figures_of_lots"
down_revision = "0018_runs"


def upgrade() -> None:
    """Change nothing but the mark."""


def downgrade() -> None:
    """Change nothing but the mark."""
