"""Businesses, people, clients, credentials; the kernel that the other apps stand on."""
