"""Jobs as they come: which are planned before a job and in what order, checked, rehearsed, archived."""
