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
`knowledge`   what cooks have taught of the pit
`meats`       stages of the meat, and what it weighs
`waiting`     splits that were due, and how long they let themselves be waited for
`whole`       all of it as one `Review`
`lessons`     three things to try next time
`wording`     figures as the cook reads them
`parts`       sections, tables and tiles: what a review is told in
`told_pit`    the sections: the pit; likewise `told_wood`, `told_watch`, `told_known`, `told_meat`
`sheet`       one review in words
`comparing`   several side by side
============  ===================================================================================
"""
