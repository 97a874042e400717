"""What the back shows beside texts: a second picture, laid in level with it."""
