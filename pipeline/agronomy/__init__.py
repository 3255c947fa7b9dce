"""Water that crops need, water that rain gives, and the sun: pure functions on arrays.

Nothing here opens a file but the tables that this room ships. NaN is "unknown"
and stays NaN.

References
----------
FAO-56 below is: Allen, R. G., Pereira, L. S., Raes, D., Smith, M. (1998). Crop
evapotranspiration. FAO Irrigation and Drainage Paper 56. Rome: FAO.
"""
