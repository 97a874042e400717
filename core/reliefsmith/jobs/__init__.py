"""What is done with a walk: checks of existing parts, other ways, hand relief read back, the coupon."""
