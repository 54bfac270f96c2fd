import { Link, useLocation } from "wouter";
import { paths } from "../../app/paths.ts";
import { Screen } from "../../kit/Screen.tsx";
import SignInForm from "./SignInForm.tsx";

/** SignIn stands in the place of the screen that somebody came for, so that its address stays. */
export default function SignIn() {
  const [at, go] = useLocation();
  return (
    <Screen question="Who is here?" lead="The same settings on every press, in every workshop.">
      <SignInForm
        onSignedIn={() => {
          if (at === paths.signIn) go(paths.start);
        }}
      />
      <p>
        <small>
          A new service with nobody in it yet? <Link href={paths.firstPerson}>Make the first person</Link>.
        </small>
      </p>
    </Screen>
  );
}
