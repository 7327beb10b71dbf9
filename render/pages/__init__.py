"""How a page is recorded, laid out, tiled and written: what every sheet is made with."""
