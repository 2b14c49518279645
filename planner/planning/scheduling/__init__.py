"""The optimiser: candidates in, an order of looks out.

It knows minutes, worths and costs, and imports nothing of ours but its neighbours, and arrays
and angles from `targets`.
"""
