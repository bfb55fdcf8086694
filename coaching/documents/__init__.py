"""What the kernel says in mails."""
