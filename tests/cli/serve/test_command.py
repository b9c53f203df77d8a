"""`cooperage serve`: what stands in its way is said in one line."""

import builtins
import socket
import sys
from typing import TYPE_CHECKING, Any

import pytest
from aiohttp.test_utils import unused_port

if TYPE_CHECKING:
    from tests.cli.conftest import Cooperage


@pytest.mark.slow
def test_without_the_extra_one_line_says_how_to_get_it_from_here(
    demo: "Cooperage", monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not a name from the public index, where it is somebody else's."""
    really = builtins.__import__

    def without(name: Any, *args: Any, **kwargs: Any) -> Any:
        if name.split(".")[0] in {"aiohttp", "textual_serve"}:
            raise ModuleNotFoundError(f"No module named {name!r}")
        return really(name, *args, **kwargs)

    monkeypatch.setattr(builtins, "__import__", without)
    for module in [name for name in sys.modules if name.startswith("cooperage.cli.serve.") and "names" not in name]:
        monkeypatch.delitem(sys.modules, module)
    code, line = demo.refuses("serve")
    assert code == 2
    assert ".venv/bin/pip install -e '.[serve]'" in line
    assert "'cooperage[" not in line


def test_a_port_that_is_taken_is_said_in_one_line(demo: "Cooperage") -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        done = demo.refuses("serve", "--host", "127.0.0.1", "--port", str(port))
    assert done == (2, f"cooperage: port {port} is taken; choose another with --port")


def test_an_address_of_another_computer_is_said_in_one_line(demo: "Cooperage") -> None:
    code, line = demo.refuses("serve", "--host", "192.0.2.77", "--port", str(unused_port()))
    assert (code, "not an address of this computer" in line) == (2, True)
