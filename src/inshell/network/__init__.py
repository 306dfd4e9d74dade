"""Rooms, routes and devices as arrays of numbers, and the equations that join them."""
