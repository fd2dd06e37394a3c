"""From the sketch to its reading: phrases, harmony, strands with roles, moments, and what the sketch leaves unsaid."""

from autoorch.roles.read import read_roles

__all__ = ["read_roles"]
