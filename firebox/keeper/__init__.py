"""The keeper: the process that watches a pit, with or without a dashboard.

=============  ====================================================================================
`clock`        logical time that never runs backwards, and what to do when the wall clock is set
`sources`      probe sources, opened again whenever they fail
`watchbook`    state and journal: each record in, what comes out, resume, snapshots
`loop`         the loop around them: ticks, inbox, outlets, troubles, the orderly end
`notices`      people called in one way, until it arrives
`calling`      the same on a device that looks at a pit from afar
`heartbeat`    a sign of life for the service manager
`mind`         the reducer that it runs
`background`   starting a keeper that outlives its starter, and ending one
`logs`         where the keeper's own doings are written
=============  ====================================================================================
"""
