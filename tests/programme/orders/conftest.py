"""The cellar of the tests of several at once."""

from tests.programme.several.conftest import small as small
