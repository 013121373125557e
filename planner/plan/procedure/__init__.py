"""The whole job as one ordered list of acts for the crew's people: made once, read by clock, water, load and paper."""
