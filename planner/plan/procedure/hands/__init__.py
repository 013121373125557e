"""What hands do within a stage: guns, two guns at once, fills, pails, sections, gear."""
