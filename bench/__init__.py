"""Speed, as ratios against a peer measured in the same run wherever a peer exists."""
