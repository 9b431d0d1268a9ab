"""Pages and the JSON API: one module, one blueprint per page.

A view reads the request, calls one function of the service, and writes its answer; it decides
nothing about music, memory or time.
"""
