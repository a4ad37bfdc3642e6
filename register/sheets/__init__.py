"""The printed face of the register: a loop becomes places on a page, an SVG drawing and a PDF."""
