"""The fitted enclosure: walls that follow the held cells and the rooms beside them."""
