"""Words and figures for people, for terminal, JSON and paper alike: findings, cures, amounts, dates, hazards."""
