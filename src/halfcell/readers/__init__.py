"""Raw files in, recordings out: sniff before parse, say what was assumed.

``read(path, name=, hints=)`` for text exports, ``read_image(path, name=, metres_per_pixel=)``.
"""
