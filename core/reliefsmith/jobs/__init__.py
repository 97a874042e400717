"""What is done with a walk: sets of files, checks of existing parts, other ways, other colors, the coupon."""
