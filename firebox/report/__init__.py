"""A review as one self-contained HTML page: words and tables from `firebox.review`, pictures by matplotlib.

==========  =====================================================================================
`page`      the page: escaped words, tables, pictures in their places
`ink`       colours by name: one drawing serves light, dark and paper
`night`     the night as drawn: temperatures and band, wood, dampers, doors, meat
`humps`     the rhythm as drawn: every split's hump, and how its lift drifted
`foretold`  forecasts as drawn: what was said a quarter of an hour before, and what came
`abreast`   several cooks as drawn, one under the other
==========  =====================================================================================
"""
