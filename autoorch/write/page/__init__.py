"""Pages to look at in a browser: one file each, nothing fetched from anywhere.

`grid` turns a draft into the data of a grid (players down, bars across); grid.js draws it, on any page that carries it.
`shell` puts data, styles and scripts into one HTML file; `report` is the page of one draft.
"""
