"""The service: JSON over HTTP and the command line, around one function, `models.pipeline.size`.

Knows wire formats, identities, storage and the web. Computes no engineering of its own.
"""
