"""What sensors show, turned into temperatures: pure functions with their sources.

==============  ============================================================================
`thermocouple`  millivolts and degrees, cold junction, and chips that take the curve for a line
`platinum`      Pt100 and Pt1000
`thermistor`    by Beta, by Steinhart and Hart, by three points; the divider they stand in
`boiling`       where water boils, by pressure and by altitude
`calibration`   offset and gain from an ice bath and boiling water, with their uncertainty
==============  ============================================================================
"""
