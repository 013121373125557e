"""Jobs one after another: the day's clock and shelf, a better order, what records and nights leave."""
