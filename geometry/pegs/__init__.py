"""Setting out: control, the best way for each peg, readings, checks, ways back, order, proof."""
