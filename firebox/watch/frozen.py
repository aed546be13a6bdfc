"""The state as bytes, over a restart."""

from typing import Any, Final

import msgspec
import numpy as np

from firebox.watch.state import WatchState


def freeze(state: WatchState) -> bytes:
    """Return the state as bytes; equal states give equal bytes."""
    return _encoder.encode(state)


def thaw(frozen: bytes) -> WatchState:
    """Return the state that `freeze` was given.

    Raises
    ------
    msgspec.DecodeError
        The bytes are no state of this version; the journal has to be replayed instead.
    """
    return _decoder.decode(frozen)


def array_to_plain(value: Any) -> Any:  # msgspec's hook is untyped
    """Return an array as msgpack can hold it."""
    if isinstance(value, np.ndarray):
        return {"shape": value.shape, "dtype": value.dtype.str, "data": value.tobytes()}
    raise NotImplementedError(f"{type(value).__name__} in the watch state")


def array_from_plain(_kind: type, value: Any) -> Any:  # msgspec's hook is untyped
    """Return the array that `array_to_plain` was given, not to be written."""
    array = np.frombuffer(value["data"], dtype=value["dtype"]).reshape(value["shape"])
    array.setflags(write=False)
    return array


_encoder: Final = msgspec.msgpack.Encoder(enc_hook=array_to_plain)
_decoder: Final = msgspec.msgpack.Decoder(WatchState, dec_hook=array_from_plain)
