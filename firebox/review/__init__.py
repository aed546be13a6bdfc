"""The honest look back: figures of a cook from its records, in words, and what to try next time.

============  ===================================================================================
`chronicle`   records -> one cook by the clock: the pit on a grid of ten seconds, the log, the answers
`series`      small arithmetic on such grids
`holding`     time in the band, and when the pit came to it
`leaving`     each time that the pit left the band
`blame`       why it probably did
`rhythm`      splits: intervals, sizes, what each one did, and how that changed through the night
`fuel`        wood and money an hour
`honesty`     the outlooks held against what came
`counsel`     moves followed or not, and what came of it
`warnings`    alarms: how many, how bad, how useful
`meats`       stages of the meat, and what it weighs
`lessons`     three things to try next time
`whole`       all of it as one `Review`
`sheet`       a review, or several side by side, as sections of words and tables
`wording`     figures as the cook reads them
============  ===================================================================================
"""
