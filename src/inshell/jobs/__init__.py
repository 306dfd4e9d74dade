"""The use cases: one module each, called alike by the command line and by pages."""
