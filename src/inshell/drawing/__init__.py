"""The plan and the section, drawn to scale."""
