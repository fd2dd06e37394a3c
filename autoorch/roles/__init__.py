"""From the sketch to its reading: phrases, harmony, strands with roles, moments, and what the sketch leaves unsaid."""

from autoorch.roles.edit import read_reading
from autoorch.roles.model import Reading
from autoorch.roles.read import read_roles
from autoorch.roles.told import write_reading

__all__ = ["Reading", "read_reading", "read_roles", "write_reading"]
