"""How Hooflast's catalog plugins fetch over HTTP.

public_only   a connection to public addresses only
fetching      one page: conditional, bounded, retried
"""

from hooflast_fetching.fetching import Fault, FetchFailed, FetchSettings, Page, fetch
from hooflast_fetching.public_only import AddressRefused

__all__ = ["AddressRefused", "Fault", "FetchFailed", "FetchSettings", "Page", "fetch"]
