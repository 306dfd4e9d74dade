"""The trade's calculations: house and climate in, one result each."""
