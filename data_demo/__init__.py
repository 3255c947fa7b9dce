"""An invented irrigation programme, simulated: what truly happened, and the files that the field would send.

`futures` runs it on from any day, with a visit and without it. `generate` writes two folders.

`deliveries/YYYY-MM-DD/`
    Files as they arrived on that day, named for their table, with the field's mistakes in them.
`truth/`
    programme.json      the options that it was made with
    site_days.parquet   site_id, day, water_m3, energy_kwh, up_h, down_h, need_m3, cause
    causes.csv          site_id, cause, since_day, until_day (empty: still so at the end)
    instruments.csv     site_id, water (weekly_manual, daily_remote, none), energy, telemetry, block_meters
    mistakes.csv        delivery, file, table, kind, key: each mistake that was written into a file.
                        The key is the row's (meter and moment, site, survey); of red_decimals and
                        corrected_later the meter; of late and day_first the sheet; of copy the file that
                        it repeats; of title_rows the title.

People, places and organisations are invented; climate and relief are those of the plateau around
13.5° S, 33.8° E.
"""

from data_demo.generate import generate
from data_demo.what_if import Futures, futures

__all__ = ["Futures", "futures", "generate"]
