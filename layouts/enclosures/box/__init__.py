"""The rectangular enclosure: a tub and a lid."""
