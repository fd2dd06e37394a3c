"""What the brief asks for: must, only, avoid (hard) and prefer, over bars, role and players."""
