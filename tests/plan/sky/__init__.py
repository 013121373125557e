"""Weather by the hour and daylight."""
