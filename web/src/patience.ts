// A busy machine is slow, not wrong: the tests wait for what must come longer than the library's one second.
import { configure } from "@testing-library/react";

configure({ asyncUtilTimeout: 8_000 });
