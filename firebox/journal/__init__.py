"""The journal: one SQLite file per pit that holds all that was heard, entered and answered.

=============  ====================================================================================
`schema`       tables, views, numbered migrations, how a connection is opened
`rows`         records <-> rows
`writer`       `Journal`: the keeper's hand; batches, keeps on in memory while the disk refuses
`salvage`      what can still be read of a damaged file
`history`      what was written, read in order
`doings`       whether a fire that is lit is still that of the running cook
`resume`       the state of a watch after a restart
`fingerprint`  which version of the core a snapshot belongs to
`reader`       `JournalLink`: the dashboard's view of a running watch, and its inbox
`export`       a cook as JSON lines, CSV or Parquet
`lookback`     a cook for whoever looks back on it, its readings thinned
`lock`         who keeps a pit
=============  ====================================================================================
"""
