"""The description of one house, its file and its geometry."""
