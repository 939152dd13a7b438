import io
import os

import pytest

from voiceflow.session.lines import DescriptorLines, NoLine, StreamLines, lines_beside, lines_of


def test_lines_come_as_they_were_written() -> None:
    reading, writing = os.pipe()
    os.write(writing, b"one\r\n\ntw\xc3\xb6")
    os.close(writing)
    lines = DescriptorLines(reading)
    assert [lines.next(None) for _ in range(4)] == ["one", "", "twö", NoLine.ENDED]
    assert lines.next(None) is NoLine.ENDED
    os.close(reading)


def test_a_line_in_pieces_is_one_line() -> None:
    reading, writing = os.pipe()
    lines = DescriptorLines(reading)
    os.write(writing, b"on")
    assert lines.next(0.0) is NoLine.TIMED_OUT
    os.write(writing, b"e\n")
    assert lines.next(None) == "one"
    os.close(writing)
    os.close(reading)


def test_bytes_that_are_no_text_stop_nothing() -> None:
    reading, writing = os.pipe()
    os.write(writing, b"\xff\n")
    assert DescriptorLines(reading).next(None) == "\N{REPLACEMENT CHARACTER}"
    os.close(writing)
    os.close(reading)


def test_a_text_has_lines_too() -> None:
    lines = lines_of(io.StringIO("one\n\ntwo"))
    assert isinstance(lines, StreamLines)
    assert [lines.next(1.0) for _ in range(4)] == ["one", "", "two", NoLine.ENDED]
    assert lines.next(0.0) is NoLine.TIMED_OUT


@pytest.mark.skipif(os.name == "nt", reason="there only sockets can be waited for")
def test_a_pipe_is_read_without_a_buffer_between() -> None:
    reading, writing = os.pipe()
    with os.fdopen(reading) as stream:
        assert isinstance(lines_of(stream), DescriptorLines)
    os.close(writing)


@pytest.mark.skipif(os.name == "nt", reason="there a line cannot be looked for without waiting")
def test_beside_a_microphone_lines_come_from_a_terminal_only() -> None:
    import pty

    assert lines_beside(None) is None
    assert lines_beside(io.StringIO("one\n")) is None
    master, slave = pty.openpty()
    with os.fdopen(slave) as terminal:
        lines = lines_beside(terminal)
        assert lines is not None
        assert lines.next(0) is NoLine.TIMED_OUT
        os.write(master, b"1600\n")
        # a terminal hands a line over on its own time, so here it is waited for
        assert lines.next(5.0) == "1600"
    os.close(master)
