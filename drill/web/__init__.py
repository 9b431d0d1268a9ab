"""Pages and the JSON API: one module and one blueprint for each page.

A view reads the request, calls one function of the service, and writes its answer. It decides nothing about music,
memory or time.
"""
